package stat

import (
	"errors"
	"fmt"
)

// Form is what exponential smoothing keeps of a series.
type Form string

const (
	Flat   Form = "flat"   // a level (Brown 1959)
	Sloped Form = "sloped" // and a trend (Holt 1957)
	Added  Form = "added"  // and seasons that add to the level (Winters 1960)
	Scaled Form = "scaled" // and seasons that multiply it (Winters 1960)
)

func (f Form) seasonal() bool { return f == Added || f == Scaled }

// Weights say how fast a smoothing follows what it sees, each from 0, not at
// all, to 1: the alpha, beta and gamma of the books. Beta weighs the last step
// of the level, not alpha times it.
type Weights struct{ Level, Trend, Season float64 }

// Start is where a smoothing stands before it sees the value at From, counted
// from 0; those before it are not seen again. With From 0 a Holt start is the
// convention of R’s forecast::holt, with From 2 that of R’s HoltWinters, which
// from the same level and trend comes to other forecasts. Season is of one
// turn, its first that of the value at From.
type Start struct {
	Level, Trend float64
	Season       []float64
	From         int
}

// Smoothed is a series after a smoothing went through it.
type Smoothed struct {
	Fitted       []float64 // of the values since From: foretold one step before
	SSE          float64   // sum of squares of what those missed
	Level, Trend float64   // at the end
	Season       []float64 // of the next turn

	end course
}

// Next are the next h values.
func (s Smoothed) Next(h int) []float64 {
	list := make([]float64, h)
	for i := range list {
		list[i] = s.end.next(i + 1)
	}
	return list
}

// Smooth goes through y from a start that is given, or comes from Form.Start,
// with weights that are given, or come from Form.Weigh.
func (f Form) Smooth(y []float64, w Weights, s Start) (Smoothed, error) {
	if err := f.refuse(y, s); err != nil {
		return Smoothed{}, err
	}
	for _, weight := range []float64{w.Level, w.Trend, w.Season} {
		if !(weight >= 0 && weight <= 1) {
			return Smoothed{}, fmt.Errorf("weight %v: it has to lie from 0 to 1", weight)
		}
	}
	var out Smoothed
	c := f.course(w, s)
	for _, v := range y[s.From:] {
		at := c.next(1)
		out.Fitted = append(out.Fitted, at)
		out.SSE += (v - at) * (v - at)
		c.see(v)
	}
	out.Level, out.Trend, out.end = c.level, c.trend, c
	if f.seasonal() {
		out.Season = append(append(out.Season, c.season[c.at:]...), c.season[:c.at]...)
	}
	if !finite([]float64{out.SSE, out.Level, out.Trend}) || !finite(out.Season) {
		return Smoothed{}, errors.New("the smoothing leaves all bounds")
	}
	return out, nil
}

func (f Form) refuse(y []float64, s Start) error {
	switch {
	case f != Flat && f != Sloped && !f.seasonal():
		return fmt.Errorf("no smoothing is called %q", f)
	case len(y) == 0:
		return TooFew{Need: 1}
	case s.From < 0 || s.From > len(y):
		return fmt.Errorf("a start at %d of %d values", s.From, len(y))
	case f.seasonal() != (len(s.Season) > 0):
		return fmt.Errorf("a turn of %d seasons does not go with a smoothing that is %s", len(s.Season), f)
	case f == Flat && s.Trend != 0:
		return errors.New("a flat smoothing has no trend")
	case !finite(y) || !finite(s.Season) || !finite([]float64{s.Level, s.Trend}):
		return errNumber
	}
	if f != Scaled {
		return nil
	}
	for _, v := range append(append([]float64{s.Level}, y...), s.Season...) {
		if v <= 0 {
			return errors.New("seasons that multiply take values above 0")
		}
	}
	return nil
}

// course is a smoothing on its way.
type course struct {
	form         Form
	w            Weights
	level, trend float64
	season       []float64 // a ring
	at           int       // where the next value’s season lies in it
}

func (f Form) course(w Weights, s Start) course {
	if f == Flat {
		w.Trend = 0
	}
	return course{form: f, w: w, level: s.Level, trend: s.Trend, season: append([]float64(nil), s.Season...)}
}

// next is the h-th value from here.
func (c *course) next(h int) float64 {
	v := c.level + float64(h)*c.trend
	if len(c.season) == 0 {
		return v
	}
	season := c.season[(c.at+h-1)%len(c.season)]
	if c.form == Scaled {
		return v * season
	}
	return v + season
}

func (c *course) see(v float64) {
	before, clean := c.level, v
	if len(c.season) > 0 {
		clean = c.without(v, c.season[c.at])
	}
	c.level = c.w.Level*clean + (1-c.w.Level)*(before+c.trend)
	c.trend = c.w.Trend*(c.level-before) + (1-c.w.Trend)*c.trend
	if len(c.season) > 0 {
		c.season[c.at] = c.w.Season*c.without(v, c.level) + (1-c.w.Season)*c.season[c.at]
		c.at = (c.at + 1) % len(c.season)
	}
}

// without takes a part out of a value: its season, or its level.
func (c *course) without(v, part float64) float64 {
	if c.form == Scaled {
		return v / part
	}
	return v - part
}
