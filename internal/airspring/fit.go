package airspring

import (
	"errors"
	"fmt"
	"math"
)

// Pair is what was seen on a fork: it was pumped to Gauge and sagged to Sag under
// the load.
type Pair struct{ Gauge, Sag float64 }

// Fitted is a spring made to agree with what was seen.
type Fitted struct {
	Spring
	Pairs int
	// ColumnToo says that the length of the column follows from the pairs as
	// well; else it is the one that was assumed.
	ColumnToo bool
	// Worst is by how many Pa the pressure of a pair is missed at most.
	Worst float64
}

const (
	// A column is at least a twentieth longer than the travel and at most four
	// times as long: beyond either no fork sags as it does.
	leastColumn, mostColumn = 1.05, 4.0
	// Two sags tell of the column only where they lie apart by more than a hand
	// measures them: a twentieth of the travel.
	apart = 0.05
)

// Fit makes a spring agree with pairs seen under one load, by least squares of
// the pressures. Its areas stay in proportion, its negative column in proportion
// to the positive one. One pair, or several within a twentieth of the travel,
// give the area alone and leave the column as assumed: they would agree with any.
// So do pairs that fit no column better than an impossible one.
func Fit(assumed Spring, pairs []Pair, load, around float64) (Fitted, error) {
	if len(pairs) == 0 {
		return Fitted{}, errors.New("pairs of pressure and sag: it takes one")
	}
	low, high := math.Inf(1), 0.0
	for i, p := range pairs {
		if err := pressure(fmt.Sprintf("pressure %d", i+1), p.Gauge); err != nil {
			return Fitted{}, err
		}
		low, high = min(low, p.Sag), max(high, p.Sag)
	}
	area, err := withArea(assumed, pairs, load, around)
	if err != nil {
		return Fitted{}, err
	}
	best := Fitted{Spring: area, Pairs: len(pairs)}
	if high-low > apart*assumed.Travel {
		if column, ok := bestColumn(assumed, pairs, load, around); ok {
			best.Spring, best.ColumnToo = column, true
		}
	}
	best.Worst = best.worst(pairs, load, around)
	return best, nil
}

// withArea scales the areas so that the squares of what the pressures miss are
// least. Spacers keep their volume and so fill another part of the column, which
// takes a few rounds.
func withArea(s Spring, pairs []Pair, load, around float64) (Spring, error) {
	for range 100 {
		k, err := s.scale(pairs, load, around)
		if err != nil {
			return s, err
		}
		s.Area, s.Negative = s.Area*k, s.Negative*k
		if s.Spacer == 0 || math.Abs(k-1) < 1e-12 {
			break
		}
	}
	return s, nil
}

// scale is by how much the areas are too small. What air holds grows with them,
// so that the load and the top-out spring on a spring k times as large are a k-th
// of them on this one; in 1/k the pressures are linear.
func (s Spring) scale(pairs []Pair, load, around float64) (float64, error) {
	var xy, xx float64
	for _, p := range pairs {
		held, rest, err := s.needs(load, p.Sag, around)
		if err != nil {
			return 0, err
		}
		xy, xx = xy+held*(p.Gauge-rest), xx+held*held
	}
	k := xx / xy
	if !(k > 0) || math.IsInf(k, 0) {
		return 0, errors.New("pairs of pressure and sag: no spring sags so")
	}
	return k, nil
}

// bestColumn is the spring with the column that misses the pressures least; ok
// is false where that is the shortest or the longest there may be.
func bestColumn(assumed Spring, pairs []Pair, load, around float64) (best Spring, ok bool) {
	try := func(log float64) (Spring, float64) {
		s, column := assumed, math.Exp(log)
		s.NegativeColumn *= column / s.Column
		s.Column = column
		s, err := withArea(s, pairs, load, around)
		if err != nil {
			return s, math.Inf(1)
		}
		return s, s.misses(pairs, load, around)
	}
	least := (assumed.Travel + assumed.Spacer/assumed.Area) * leastColumn
	low, high := math.Log(least), math.Log(assumed.Travel*mostColumn)
	if !(low < high) {
		return assumed, false
	}
	at := low
	missed := math.Inf(1)
	const steps = 200
	for i := range steps + 1 { // the sum of squares may have more than one hollow
		log := low + (high-low)*float64(i)/steps
		if _, m := try(log); m < missed {
			at, missed = log, m
		}
	}
	step := (high - low) / steps
	if at <= low+step/2 || at >= high-step/2 {
		return assumed, false
	}
	at = golden(func(log float64) float64 { _, m := try(log); return m }, at-step, at+step)
	best, _ = try(at)
	return best, true
}

// golden is where f is least between two values, by golden section.
func golden(f func(float64) float64, low, high float64) float64 {
	ratio := (math.Sqrt(5) - 1) / 2
	a, b := high-ratio*(high-low), low+ratio*(high-low)
	fa, fb := f(a), f(b)
	for range 60 {
		if fa < fb {
			high, b, fb = b, a, fa
			a = high - ratio*(high-low)
			fa = f(a)
		} else {
			low, a, fa = a, b, fb
			b = low + ratio*(high-low)
			fb = f(b)
		}
	}
	return (low + high) / 2
}

// misses is the sum of squares of what the pressures miss.
func (s Spring) misses(pairs []Pair, load, around float64) float64 {
	sum := 0.0
	for _, p := range pairs {
		got, err := s.Pressure(load, p.Sag, around)
		if err != nil {
			return math.Inf(1)
		}
		sum += (got - p.Gauge) * (got - p.Gauge)
	}
	return sum
}

func (s Spring) worst(pairs []Pair, load, around float64) float64 {
	most := 0.0
	for _, p := range pairs {
		if got, err := s.Pressure(load, p.Sag, around); err == nil {
			most = max(most, math.Abs(got-p.Gauge))
		}
	}
	return most
}

// Limits are the pressures a maker allows; a zero Most is none that is known.
type Limits struct{ Least, Most float64 }

// Bound is which of the limits a pressure was held back by.
type Bound string

// The bounds.
const (
	Free    Bound = ""
	AtLeast Bound = "the least allowed"
	AtMost  Bound = "the most allowed"
)

// Next is the pressure to try next for a wanted sag, held to the limits.
func (s Spring) Next(load, sag, around float64, l Limits) (float64, Bound, error) {
	if l.Most > 0 && l.Least > l.Most {
		return 0, Free, fmt.Errorf("least pressure allowed %v Pa: it is not above the most, %v", l.Least, l.Most)
	}
	p, err := s.Pressure(load, sag, around)
	switch {
	case err != nil:
		return 0, Free, err
	case l.Most > 0 && p > l.Most:
		return l.Most, AtMost, nil
	case p < l.Least:
		return l.Least, AtLeast, nil
	}
	return p, Free, nil
}
