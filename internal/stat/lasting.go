package stat

import (
	"cmp"
	"slices"
)

// Seen is a value, or with More only that the value is greater than this one,
// such as of what is not over yet.
type Seen struct {
	Value float64
	More  bool
}

// Curve is what share of all there could have been lies beyond a value.
type Curve struct {
	at   []float64 // where it falls
	left []float64 // to what
	// Known counts the values that were seen whole.
	Known int
}

// Lasting is the curve of values of which some are not known to their end: the
// product limit of Kaplan and Meier (1958). Leaving out what is not over yet
// would leave out the longest first.
func Lasting(seen []Seen) (Curve, error) {
	seen = slices.Clone(seen)
	// At one value those that end come before those that go on.
	slices.SortFunc(seen, func(a, b Seen) int { return cmp.Or(cmp.Compare(a.Value, b.Value), more(a)-more(b)) })
	c, share := Curve{}, 1.0
	for i, s := range seen {
		if !finite([]float64{s.Value}) {
			return Curve{}, errNumber
		}
		if s.More {
			continue
		}
		c.Known++
		share *= 1 - 1/float64(len(seen)-i)
		if n := len(c.at); n > 0 && c.at[n-1] == s.Value {
			c.left[n-1] = share
			continue
		}
		c.at, c.left = append(c.at, s.Value), append(c.left, share)
	}
	return c, nil
}

func more(s Seen) int {
	if s.More {
		return 1
	}
	return 0
}

// Beyond is the share above x.
func (c Curve) Beyond(x float64) float64 {
	i, found := slices.BinarySearch(c.at, x)
	if !found {
		i--
	}
	if i < 0 {
		return 1
	}
	return c.left[i]
}

// Within is the least value that at least the share p does not exceed. ok is
// false where too much is not over yet to say.
func (c Curve) Within(p float64) (x float64, ok bool) {
	for i, left := range c.left {
		if 1-left >= p-1e-12 {
			return c.at[i], true
		}
	}
	return 0, false
}
