package templates

import (
	"slices"
	"strings"

	"damperdesk/internal/bench"
	"damperdesk/internal/goahead"
	"damperdesk/internal/job"
)

// proposalState says in a word and a shape how a proposal stands.
func proposalState(p goahead.Proposal) (Shape, string) {
	switch {
	case p.Void:
		return Arrow, "no longer proposed"
	case p.AnswerID != 0 && p.Yes:
		return Square, "agreed"
	case p.AnswerID != 0:
		return Arrow, "refused"
	case p.Ahead:
		return Square, "goes ahead inside the limit"
	case p.Settled:
		return Disc, "never asked"
	}
	return OpenDiamond, "waits for the customer"
}

// proposalNote says who proposed, what it came to then, and who answered.
func (b Base) proposalNote(p goahead.Proposal) string {
	note := "proposed by " + p.Actor + ", " + b.When(p.At)
	if p.Ahead {
		note += ", the visit then at " + b.Prefs.Money(p.TotalMinor, p.Currency)
	}
	if p.ReadyOn != nil {
		note += "; ready with it " + b.Date(*p.ReadyOn)
	}
	if p.AnswerID != 0 {
		note += "; " + p.Who + " " + p.How + ", " + b.When(*p.AnswerAt) + keptBy(p)
	} else if p.RemindedAt != nil {
		note += "; last reminded " + p.Reminded + ", " + b.When(*p.RemindedAt) + ", by " + p.RemindedBy
	}
	if p.Billed {
		note += "; on the bill"
	}
	return note + "."
}

// keptBy is who wrote an answer down, or was signed in where it was given.
func keptBy(p goahead.Proposal) string {
	switch {
	case p.AnswerBy == "":
		return ""
	case p.How == goahead.OnPage:
		return ", where " + p.AnswerBy + " was signed in"
	}
	return ", kept by " + p.AnswerBy
}

// callNote says who asks to be rung, when and where.
func (b Base) callNote(p goahead.Proposal) string {
	return listed(p.CallWho+", asked "+b.When(*p.CallAt), p.CallWords) + "."
}

// readyOnName is the field of the day beside the words of a proposal.
func readyOnName(words string) string { return strings.TrimSuffix(words, "proposal") + "readyon" }

func readyOnField(b Base, name, of string) Field {
	f := Field{Name: name, Label: "Ready with it", Type: "date", Hint: "The day, if it is known. The customer reads it beside the price."}
	if of != "" {
		f.Apart = apart(b, of)
	}
	return f
}

// standingLine is the running total against the spending limit.
func (b Base) standingLine(s goahead.Standing) string {
	total := b.Prefs.Money(s.TotalMinor(), s.Currency)
	switch left := s.LeftMinor(); {
	case s.LimitMinor == nil:
		return "The visit comes to " + total + " with its tax. Nothing more goes ahead without asking."
	case left < 0:
		return "The visit comes to " + total + " with its tax, " + b.Prefs.Money(-left, s.Currency) + " over what may be spent without asking."
	default:
		return "The visit comes to " + total + " with its tax. Of the " + b.Prefs.Money(*s.LimitMinor, s.Currency) +
			" that may be spent without asking, " + b.Prefs.Money(left, s.Currency) + " is left."
	}
}

// ofJob leaves out what is proposed for other jobs of the visit.
func ofJob(list []goahead.Proposal, jobID int64) []goahead.Proposal {
	return slices.DeleteFunc(slices.Clone(list), func(p goahead.Proposal) bool { return p.JobID != jobID })
}

// mayPropose says whether something may be proposed for a finding.
func (p JobPage) mayPropose(f bench.Finding) bool {
	had := goahead.OfFinding(p.Proposals, f.ID)
	return p.open() && p.Job.Stage != job.Ready && f.Answer == "" && f.Cause == bench.FoundSo && (had == nil || !had.Billed)
}

// mayAnswer says whether the desk may keep what the customer says.
func (p JobPage) mayAnswer(of goahead.Proposal) bool {
	return p.Person.Has("desk", "owner") && !of.Void
}

func (p JobPage) mayBill(of goahead.Proposal) bool {
	return p.Person.Has("desk", "owner") && of.Goes() && !of.Billed && !of.Void && len(p.Rates) > 0
}

// proposing is the form for that finding, with what was typed if it is the one
// that came back.
func (p JobPage) proposing(form Base, field string, id int64) Base {
	return form.Alone(form.Intent, form.Typed != nil && form.Typed.Get(field) == idText(id))
}

// over is the id of what stands for a finding, 0 for nothing.
func over(p *goahead.Proposal) int64 {
	if p == nil {
		return 0
	}
	return p.ID
}
