package stat

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Line is a straight line through points, by least squares of what y misses.
type Line struct {
	Intercept, Slope float64
	// Residual is the standard deviation of what is missed, with n - 2 degrees of
	// freedom.
	Residual float64
	N        int
	// Low and High are the least and the greatest x that were seen: beyond them
	// the line is a guess.
	Low, High float64

	meanX, meanY, spread float64 // spread: sum of squares of x around its mean
}

// Straight fits the line, to three points at least that have not all one x.
func Straight(x, y []float64) (Line, error) {
	switch {
	case len(x) != len(y):
		return Line{}, fmt.Errorf("%d values of x, and %d of y", len(x), len(y))
	case len(x) < 3:
		return Line{}, TooFew{Have: len(x), Need: 3}
	case !finite(x) || !finite(y):
		return Line{}, errNumber
	}
	l := Line{N: len(x), Low: x[0], High: x[0]}
	for i := range x {
		l.meanX += (x[i] - l.meanX) / float64(i+1)
		l.meanY += (y[i] - l.meanY) / float64(i+1)
		l.Low, l.High = min(l.Low, x[i]), max(l.High, x[i])
	}
	if l.Low == l.High {
		return Line{}, fmt.Errorf("all %d values of x are %v: no line follows", l.N, l.Low)
	}
	both := 0.0
	for i := range x {
		dx := x[i] - l.meanX
		l.spread += dx * dx
		both += dx * (y[i] - l.meanY)
	}
	l.Slope = both / l.spread
	l.Intercept = l.meanY - l.Slope*l.meanX
	missed := 0.0
	for i := range x {
		off := y[i] - l.At(x[i])
		missed += off * off
	}
	l.Residual = math.Sqrt(missed / float64(l.N-2))
	if !finite([]float64{l.spread, l.Slope, l.Intercept, l.Residual}) {
		return Line{}, errors.New("the values lie too far apart, or their x too near, for a line")
	}
	return l, nil
}

// At is y on the line. It is reckoned from the middle of the points, where
// nothing cancels.
func (l Line) At(x float64) float64 { return l.meanY + l.Slope*(x-l.meanX) }

// Next is the interval in which one more y at x lies, such as at level 0.8: by
// Student’s t, for misses that are normal and as large at any x.
func (l Line) Next(x, level float64) (Interval, error) {
	if err := inside("level", level); err != nil {
		return Interval{}, err
	}
	if !finite([]float64{x}) {
		return Interval{}, errNumber
	}
	t := distuv.StudentsT{Sigma: 1, Nu: float64(l.N - 2)}.Quantile((1 + level) / 2)
	n := float64(l.N)
	half := t * l.Residual * math.Sqrt(1+1/n+(x-l.meanX)*(x-l.meanX)/l.spread)
	at := l.At(x)
	return Interval{Low: at - half, High: at + half}, nil
}
