package templates

import (
	"net/url"
	"slices"
	"strings"

	"github.com/a-h/templ"

	"damperdesk/internal/job"
	"damperdesk/internal/plan"
)

// PromisesPage is the promises that cannot all be kept, and the fewest to move.
type PromisesPage struct {
	Base
	Plan   *plan.Plan
	Rows   []job.BoardRow // every open job
	Offers []MoveOffer
	Phone  string // of the shop; may be empty
}

// MoveOffer is one promise to move, with the form that does it.
type MoveOffer struct {
	plan.Move
	Reach job.Reach
	Form  Base
}

// held are the rows whose promise does not hold as the line stands, and holds
// once the others are moved, by when they were promised.
func (p PromisesPage) held() (list []job.BoardRow) {
	for _, e := range p.Plan.Broken() {
		if !slices.ContainsFunc(p.Offers, func(o MoveOffer) bool { return o.VisitID == e.VisitID }) {
			list = append(list, p.rowOf(e.JobID))
		}
	}
	return list
}

func (p PromisesPage) rowOf(jobID int64) job.BoardRow {
	i := slices.IndexFunc(p.Rows, func(r job.BoardRow) bool { return r.ID == jobID })
	if i < 0 {
		return job.BoardRow{ID: jobID}
	}
	return p.Rows[i]
}

// brokenWords leads to the page from others; empty where every promise holds.
func brokenWords(n int) string {
	if n == 0 {
		return ""
	}
	return verb(n, "job is", "jobs are") + " not ready by the promise as the line stands"
}

func (p PromisesPage) leadWords() string {
	n := len(p.Offers)
	if n == 0 {
		return "As the line stands, every promise can be kept. There is nothing to move."
	}
	words := upperFirst(brokenWords(len(p.Plan.Broken()))) + ". "
	if n == 1 {
		return words + "Move one promise, and all others hold."
	}
	return words + "Move " + num(n) + " promises, and all others hold: fewer are not found."
}

// expectedLine is when a job is expected and why.
func (p PromisesPage) expectedLine(e plan.Expected) string {
	return MovePage{Base: p.Base, Expected: &e}.standsWords()
}

// reason is what stands beside the promise once it is moved; people may say it
// otherwise.
func (o MoveOffer) reason() string {
	for _, e := range o.Jobs {
		if e.Standing == plan.WillMiss || e.Standing == plan.Overdue {
			return "not ready by then: " + e.Why
		}
	}
	return "moved so that others are ready in time"
}

// pinned is whether moving its promise lifts a pin too.
func (o MoveOffer) pinned() bool {
	return slices.ContainsFunc(o.Jobs, func(e plan.Expected) bool { return e.Pin != "" })
}

// moveMessage is what the customer is told, in one line.
func (p PromisesPage) moveMessage(o MoveOffer) string {
	var units []string
	for _, e := range o.Jobs {
		units = append(units, p.rowOf(e.JobID).Unit)
	}
	return p.movedText(units, p.Phone, o.Promised, o.To)
}

// textLink opens a short message with its words in it, by RFC 5724; empty where
// there is no number.
func textLink(phone, words string) templ.SafeURL {
	to, _ := strings.CutPrefix(string(telephone(phone)), "tel:")
	if to == "" {
		return ""
	}
	return templ.SafeURL("sms:" + to + "?body=" + escaped(words))
}

// escaped writes a space as %20: the RFC does not know the plus sign for it.
func escaped(words string) string {
	return strings.ReplaceAll(url.QueryEscape(words), "+", "%20")
}
