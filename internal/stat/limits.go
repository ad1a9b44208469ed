package stat

import "math"

// Limits are the natural limits of single values in the order they came in: a
// chart of individuals and moving ranges.
type Limits struct {
	Mean      float64
	Range     float64 // mean of the moving ranges of two
	Low, High float64 // 3 Range / 1.128 around the mean
}

// d2 is the mean range of two draws from a normal distribution in its standard
// deviations, 2/√π, as the tables round it (NIST e-Handbook 6.3.2.2.2).
const d2 = 1.128

// NotBelow are the limits of values that cannot lie below v, such as times below
// zero: a lower one is none there.
func (l Limits) NotBelow(v float64) Limits {
	l.Low = max(l.Low, v)
	return l
}

// Individuals computes the limits from at least two values. They do not stop at
// zero; NotBelow does.
func Individuals(x []float64) (Limits, error) {
	if len(x) < 2 {
		return Limits{}, TooFew{Have: len(x), Need: 2}
	}
	if !finite(x) {
		return Limits{}, errNumber
	}
	n := float64(len(x))
	var l Limits
	for i, v := range x {
		l.Mean += v / n
		if i > 0 {
			l.Range += math.Abs(v-x[i-1]) / (n - 1)
		}
	}
	l.Low, l.High = l.Mean-3*l.Range/d2, l.Mean+3*l.Range/d2
	return l, nil
}

// Run is how many values in a row on one side of the mean are a signal (NIST
// e-Handbook 6.3.2, the last of the rules of the Western Electric handbook).
const Run = 8

// Signal is why a value is more than chance.
type Signal int

const (
	Chance Signal = iota // no signal
	Above                // the upper limit
	Below                // the lower limit
	Over                 // the mean, Run values or more in a row
	Under                // the mean, Run values or more in a row
)

// Signals judges each value. One beyond a limit is that before it is part of a
// run.
func (l Limits) Signals(x []float64) []Signal {
	list := make([]Signal, len(x))
	for from := 0; from < len(x); {
		to := from
		for to < len(x) && l.side(x[to]) == l.side(x[from]) {
			to++
		}
		for i := from; i < to; i++ {
			list[i] = l.signal(x[i], to-from)
		}
		from = to
	}
	return list
}

func (l Limits) signal(v float64, run int) Signal {
	switch side := l.side(v); {
	case v > l.High:
		return Above
	case v < l.Low:
		return Below
	case side > 0 && run >= Run:
		return Over
	case side < 0 && run >= Run:
		return Under
	}
	return Chance
}

// side is 0 on the mean itself, which ends a run.
func (l Limits) side(v float64) int {
	switch {
	case v > l.Mean:
		return 1
	case v < l.Mean:
		return -1
	}
	return 0
}
