package templates

import (
	"damperdesk/internal/bill"
	"damperdesk/internal/goahead"
)

// estimateNot is what an estimate does not cover; customers read it too.
const estimateNot = "It covers the services named, at the prices of that day. Parts and whatever is found once it is open are not in it: those are asked for, or go ahead inside the spending limit."

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
