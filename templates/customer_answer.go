package templates

import (
	"slices"

	"damperdesk/internal/goahead"
	"damperdesk/internal/job"
	"damperdesk/internal/picture"
	"damperdesk/internal/summary"
)

// The forms of a customer's page: two of answers, and how it is read.
const (
	FormAsked = "asked"
	FormLater = "later"
	FormReads = "reads"
)

// unitOf is the unit that something is proposed for.
func (p CustomerPage) unitOf(of goahead.Proposal) summary.Unit {
	i := slices.IndexFunc(p.Units, func(u summary.Unit) bool { return u.Job.ID == of.JobID })
	return p.Units[max(i, 0)]
}

// inWork says whether an answer can still change what is done.
func (p CustomerPage) inWork(of goahead.Proposal) bool {
	j := p.unitOf(of).Job
	return !of.Billed && !of.Settled && j.ClosedAt == nil && j.Stage != job.Ready
}

// waiting are the proposals that nobody said anything to.
func (p CustomerPage) waiting() []goahead.Proposal {
	return slices.DeleteFunc(slices.Clone(p.Proposals), func(of goahead.Proposal) bool { return !of.Waits() || !p.inWork(of) })
}

// said are those that have an answer, or go ahead without one.
func (p CustomerPage) said() []goahead.Proposal {
	return slices.DeleteFunc(slices.Clone(p.Proposals), func(of goahead.Proposal) bool { return of.AnswerID == 0 && !of.Ahead })
}

// stillOpen are those of them that may be answered otherwise.
func (p CustomerPage) stillOpen() []goahead.Proposal {
	return slices.DeleteFunc(p.said(), func(of goahead.Proposal) bool { return !p.inWork(of) })
}

// picturesFor are the pictures of what was found that the customer may see.
func (p CustomerPage) picturesFor(of goahead.Proposal) []picture.Picture {
	u := p.unitOf(of)
	for _, f := range u.Sheet.Findings {
		if f.ID == of.FindingID {
			return picturesOf(u.Sheet.Pictures, f)
		}
	}
	return nil
}

// sayOptions are what may be said; what stands already is chosen.
func (p CustomerPage) sayOptions(of goahead.Proposal) []Option {
	return []Option{
		{Value: "yes", Label: textYes, Note: textYesNote, Chosen: of.AnswerID != 0 && of.Yes},
		{Value: "no", Label: textNo, Note: textNoNote, Chosen: of.AnswerID != 0 && !of.Yes},
		{Value: "call", Label: textCall, Note: textCallNote, Chosen: of.AsksCall()},
	}
}

func saidState(of goahead.Proposal) (Shape, string) {
	if of.AnswerID == 0 {
		return Square, textAhead
	}
	return proposalState(of)
}
