package templates

import (
	"fmt"
	"slices"
	"strings"

	"damperdesk/internal/bench"
	"damperdesk/internal/goahead"
	"damperdesk/internal/job"
	"damperdesk/internal/plan"
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
	if p.Moves() {
		note += " instead of " + b.Date(b.local(*p.InsteadOf))
	}
	if p.Minutes > 0 {
		note += fmt.Sprintf("; %d min more at the bench", p.Minutes)
	}
	if p.PartsOn != nil {
		note += "; its parts expected " + b.Date(*p.PartsOn)
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

// ProposalEffect is what work that is being proposed does to the promise.
type ProposalEffect struct{ plan.Saying }

func (e ProposalEffect) shape() Shape {
	switch {
	case e.Promise.IsZero():
		return Triangle
	case e.Moves():
		return HalfDisc
	}
	return Disc
}

// effectWords says how the day came about, and what becomes of the one that is
// promised.
func (b Base) effectWords(e ProposalEffect) string {
	with := "With it"
	if e.Minutes > 0 {
		with = fmt.Sprintf("With %d min more", e.Minutes)
	}
	if e.Beside > 0 {
		with += fmt.Sprintf(", and the %d min that wait for an answer already,", e.Beside)
	}
	switch {
	case e.Promise.IsZero():
		return with + " no day can be worked out: nobody has hours at the bench in the next half year."
	case e.Moves():
		return fmt.Sprintf("%s ready by %s instead of %s. Expected %s: %s.", with, b.Moment(e.Promise), b.Moment(e.Promised), b.Moment(e.Expected), e.Why)
	}
	return fmt.Sprintf("%s it stays %s. Expected %s: %s.", with, b.Moment(e.Promised), b.Moment(e.Expected), e.Why)
}

// beside is a field beside the words of a proposal.
func beside(words, name string) string { return strings.TrimSuffix(words, "proposal") + name }

func takesField(name string) Field {
	return Field{Name: name, Label: "Minutes at the bench", Unit: "min", Keyboard: "numeric", Hint: "Beyond what it is here for, if known."}
}

func partsOnField(name string) Field {
	return Field{Name: name, Label: "Parts expected", Type: "date", Hint: "If it waits for any."}
}

func readyOnField(name string) Field {
	return Field{Name: name, Label: "Ready with it", Type: "date", Hint: "Empty: worked out from the minutes. A yes promises this day."}
}

// within keeps the field of one finding apart from the same of others.
func (f Field) within(b Base, of string) Field {
	f.Apart = apart(b, of)
	return f
}

// proposable are the services that may be what is proposed.
func (p JobPage) proposable() []Option {
	options := []Option{{Value: "", Label: "none of the list"}}
	for _, s := range p.Offers {
		options = append(options, Option{Value: s.Code, Label: s.Name})
	}
	return options
}

// toAdd says whether a service that was agreed is to be added to the job.
func (p JobPage) toAdd(of goahead.Proposal) bool {
	return of.ServiceCode != "" && of.Goes() && !of.OnJob && !of.Void && mayAddService(p.Base, p.Job, p.Offers)
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

// quoteRefused says whether a job is here for a quote, and all that was proposed
// from it was refused.
func (p JobPage) quoteRefused() bool {
	list := slices.DeleteFunc(ofJob(p.Proposals, p.Job.ID), func(of goahead.Proposal) bool { return of.Void })
	refused := func(of goahead.Proposal) bool { return of.AnswerID != 0 && !of.Yes }
	return p.Quoting && len(list) > 0 && !slices.ContainsFunc(list, func(of goahead.Proposal) bool { return !refused(of) })
}
