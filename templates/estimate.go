package templates

import (
	"slices"

	"damperdesk/internal/bill"
	"damperdesk/internal/goahead"
)

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
