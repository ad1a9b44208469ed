package templates

import (
	"slices"

	"damperdesk/internal/bill"
	"damperdesk/internal/goahead"
)

// estimateNot is what an estimate does not cover; customers read it too.
const estimateNot = "It covers the services named, at the prices of that day. Parts and whatever is found once it is open are not in it: those are asked for, or go ahead inside the spending limit."

// estimateQuote is what becomes of the fee of a quote; customers read it too.
const estimateQuote = "not charged beside work that follows from it"

// estimateHead says what was told and when.
func (b Base) estimateHead(e bill.Estimate) string {
	words := "Told on " + b.Date(b.local(e.At)) + ": " + b.Prefs.Money(e.TotalMinor, e.Currency) + " with tax"
	if n := e.Unpriced(); n > 0 {
		words += ", and " + plural(n, "service") + " without a price yet"
	}
	return words
}

// estimateNow says how the visit stands to what was told.
func (b Base) estimateNow(e bill.Estimate, s goahead.Standing) string {
	now := "It now comes to " + b.Prefs.Money(s.TotalMinor(), s.Currency)
	switch more := s.TotalMinor() - e.TotalMinor; {
	case more > 0:
		return now + ", " + b.Prefs.Money(more, s.Currency) + " more than told."
	case more < 0:
		return now + ", " + b.Prefs.Money(-more, s.Currency) + " less than told."
	}
	return now + ", as told."
}

func (b Base) estimateAmount(e bill.Estimate, l bill.EstimateLine) string {
	if l.Minor == nil {
		return "not priced yet"
	}
	return b.Prefs.Money(*l.Minor, e.Currency)
}

// estimateOf is the ticket that a line of an estimate is of; before there is
// one, its unit where several come.
func estimateOf(e bill.Estimate, l bill.EstimateLine) string {
	several := func(o bill.EstimateLine) bool { return o.Number != l.Number }
	switch {
	case e.ID != 0:
		return num(l.Number)
	case slices.ContainsFunc(e.Lines, several):
		return "unit " + num(l.Number)
	}
	return ""
}

// unpricedWords names what the total leaves out.
func (p PromisePart) unpricedWords() (list []string) {
	for _, l := range p.Estimate.Lines {
		if l.Minor == nil {
			list = append(list, l.Words+" has no listed price: say it by hand")
		}
	}
	return list
}

func (p PromisePart) aboveWords(above int64) string {
	return p.Prefs.Money(above, p.Estimate.Currency) + " above the spending limit: ask, or settle a higher one"
}
