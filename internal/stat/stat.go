// Package stat computes the few statistics the owner's review shows and advice
// on what to order rests on, and refuses where there is too little to compute
// them from.
package stat

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// TooFew says that there is not enough history: a figure is left out rather
// than guessed.
type TooFew struct{ Have, Need int }

func (e TooFew) Error() string { return fmt.Sprintf("%d values, and it takes %d", e.Have, e.Need) }

var errNumber = errors.New("a value is no finite number")

// inside refuses a share that is not between 0 and 1, the ends excluded.
func inside(name string, share float64) error {
	if !(share > 0 && share < 1) {
		return fmt.Errorf("%s %v: it has to lie between 0 and 1", name, share)
	}
	return nil
}

// Quantile is the value below which the share p of x lies, p from 0 to 1: type
// 7 of Hyndman & Fan (1996), which interpolates between the two values around
// (n-1)p. It leaves x as it is.
func Quantile(x []float64, p float64) (float64, error) {
	switch {
	case len(x) == 0:
		return 0, TooFew{Need: 1}
	case !(p >= 0 && p <= 1):
		return 0, fmt.Errorf("share %v: it has to lie between 0 and 1", p)
	case !finite(x):
		return 0, errNumber
	}
	sorted := slices.Sorted(slices.Values(x))
	at := float64(len(x)-1) * p
	below := int(at)
	if below == len(x)-1 {
		return sorted[below], nil
	}
	return between(sorted[below], sorted[below+1], at-float64(below)), nil
}

// between is the value that lies the given part of the way from low to high. It
// never leaves them, does not fall as the part grows, and does not overflow:
// in floating point no single formula has all three.
func between(low, high, part float64) float64 {
	if low < 0 && high > 0 {
		return (1-part)*low + part*high
	}
	return min(low+part*(high-low), high)
}

func finite(x []float64) bool {
	return !slices.ContainsFunc(x, func(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) })
}

// Estimate is Quantile of a sample, given only where the quantile of all there
// could have been lies between the sample's least and greatest value with a
// chance of at least sure: else the sample says nothing about it, and it is
// TooFew.
func Estimate(x []float64, p, sure float64) (float64, error) {
	need, err := Least(p, sure)
	if err != nil {
		return 0, err
	}
	if len(x) < need {
		return 0, TooFew{Have: len(x), Need: need}
	}
	return Quantile(x, p)
}

// Least is the size of the smallest sample that serves Estimate: the least n
// with 1 - pⁿ - (1-p)ⁿ ≥ sure, whatever the distribution (David & Nagaraja,
// Order Statistics, 7.1). p and sure lie between 0 and 1, the ends excluded.
func Least(p, sure float64) (int, error) {
	if err := cmp.Or(inside("share", p), inside("chance", sure)); err != nil {
		return 0, err
	}
	holds := func(n int) bool {
		return 1-math.Pow(p, float64(n))-math.Pow(1-p, float64(n)) >= sure
	}
	// The larger of the two powers alone needs about this many.
	n := max(1, int(math.Log(1-sure)/math.Log(max(p, 1-p)))-1)
	for !holds(n) {
		n++
	}
	return n, nil
}

// Interval is a range that holds the true value at the level it was made for.
type Interval struct{ Low, High float64 }

// Wilson is the score interval of a share of which k of n were seen, such as at
// level 0.95 (Wilson 1927; method 3 of Newcombe 1998, without a correction for
// continuity).
func Wilson(k, n int, level float64) (Interval, error) {
	switch {
	case n == 0:
		return Interval{}, TooFew{Need: 1}
	case k < 0 || k > n:
		return Interval{}, fmt.Errorf("%d of %d is no share", k, n)
	case inside("level", level) != nil:
		return Interval{}, inside("level", level)
	}
	z := math.Sqrt2 * math.Erfinv(level)
	size, share := float64(n), float64(k)/float64(n)
	centre := share + z*z/(2*size)
	half := z * math.Sqrt(share*(1-share)/size+z*z/(4*size*size))
	whole := 1 + z*z/size
	i := Interval{Low: max((centre-half)/whole, 0), High: min((centre+half)/whole, 1)}
	// At the ends the root cancels, in exact arithmetic alone.
	if k == 0 {
		i.Low = 0
	}
	if k == n {
		i.High = 1
	}
	return i, nil
}
