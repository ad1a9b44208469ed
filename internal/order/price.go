package order

import (
	"strconv"
	"strings"

	"damperdesk/internal/money"
)

// PriceChange is that a pack costs something else than it was ordered at.
type PriceChange struct{ Was, Is int64 }

// Changed is the change of what was counted of a line; ok is false where there is
// none, or nothing to compare with.
func (l Line) Changed(c Counted) (_ PriceChange, ok bool) {
	if c.PriceMinor == nil || l.PriceMinor == nil || *c.PriceMinor == *l.PriceMinor {
		return PriceChange{}, false
	}
	return PriceChange{*l.PriceMinor, *c.PriceMinor}, true
}

// PerCent is the change of what it was, to a tenth, with its sign: "+10", "−2.5";
// empty where it cost nothing before.
func (p PriceChange) PerCent() string {
	if p.Was == 0 {
		return ""
	}
	tenths := money.Part(p.Is-p.Was, 1000, p.Was)
	sign := "+"
	if tenths < 0 {
		sign, tenths = "−", -tenths
	}
	return sign + strings.TrimSuffix(strconv.FormatFloat(float64(tenths)/10, 'f', 1, 64), ".0")
}
