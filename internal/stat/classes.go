package stat

import (
	"cmp"
	"fmt"
	"slices"
)

// Classed is one of the items that Classes sorted.
type Classed struct {
	At     int     // which it was of those that were given
	Share  float64 // of the value of all
	Before float64 // share of all that are worth more
	Class  int     // 0 for the first
}

// Classes sorts items by value, the highest first, those of one value as they
// came, and splits them where what lies before reaches a limit, such as at 0.80
// and 0.95 for the classes A, B and C. An item that crosses a limit is still of
// the better class; one that is worth nothing is of the last.
func Classes(values []float64, limits ...float64) ([]Classed, error) {
	for i, l := range limits {
		if !(l > 0 && l <= 1) || i > 0 && l <= limits[i-1] {
			return nil, fmt.Errorf("limits %v: they have to rise, from above 0 to 1", limits)
		}
	}
	if !finite(values) {
		return nil, errNumber
	}
	list, total := make([]Classed, len(values)), 0.0
	for i, v := range values {
		if v < 0 {
			return nil, fmt.Errorf("a value of %v", v)
		}
		list[i] = Classed{At: i, Share: v, Class: len(limits)}
		total += v
	}
	if !finite([]float64{total}) {
		return nil, errNumber
	}
	slices.SortStableFunc(list, func(a, b Classed) int { return cmp.Compare(b.Share, a.Share) })
	before := 0.0
	for i := range list {
		c := &list[i]
		if c.Share == 0 {
			c.Before = 1 // all that is worth anything
			continue
		}
		c.Share, c.Before, before = c.Share/total, before/total, before+c.Share
		// What adds up to a limit but for its rounding has reached it.
		c.Class = len(limits)
		if at := slices.IndexFunc(limits, func(l float64) bool { return c.Before < l-1e-12 }); at >= 0 {
			c.Class = at
		}
	}
	return list, nil
}
