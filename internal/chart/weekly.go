package chart

import (
	"cmp"
	"strconv"
)

// Values is a chart of one value a week.
type Values struct {
	ID, Title, About, Unit string
	Axis                   string     // what they are the names of; empty: weeks
	Weeks                  []string   // their names
	Values                 []*float64 // nil: none that week
	Flagged                []bool     // weeks that are marked, with their value
	Limits                 *Limits    // drawn where they are known
	Since                  int        // the week that a line is drawn before; 0: none
}

// Limits are the mean and the natural limits of the values.
type Limits struct{ Low, Mean, High float64 }

// Draw makes the drawing.
func (v Values) Draw() Drawing {
	high := 0.0
	for _, value := range v.Values {
		if value != nil {
			high = max(high, *value)
		}
	}
	if v.Limits != nil {
		high = max(high, v.Limits.High)
	}
	f := newFrame(v.ID, v.Title, v.About, v.Unit, cmp.Or(v.Axis, byWeek), v.Weeks, high, 0.5)
	f.since(v.Since)
	v.limits(f)
	f.trace(v.Values)
	for i, value := range v.Values {
		if value == nil {
			continue
		}
		at := f.at(i, *value)
		if !v.Flagged[i] {
			f.Dots = append(f.Dots, at)
			continue
		}
		f.Flags = append(f.Flags, Point{at.X, at.Y - 9})
		f.text(at.X, at.Y-13, short(*value), Middle)
	}
	return f.Drawing
}

// limits writes the values beside the lines, kept apart from each other.
func (v Values) limits(f *frame) {
	if v.Limits == nil {
		return
	}
	f.level(Mean, v.Limits.Mean)
	f.level(Limit, v.Limits.High)
	mean := f.y.At(v.Limits.Mean) + 5
	f.text(right+6, min(f.y.At(v.Limits.High)+5, mean-line), short(v.Limits.High), Start)
	f.Texts = append(f.Texts, Text{Point: Point{right + 6, mean}, Words: short(v.Limits.Mean), Strong: true})
	if v.Limits.Low > 0 {
		f.level(Limit, v.Limits.Low)
		f.text(right+6, max(f.y.At(v.Limits.Low)+5, mean+line), short(v.Limits.Low), Start)
	}
}

// short prints a value to a tenth, from a hundred on to the whole.
func short(v float64) string {
	if v >= 99.95 {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	return strconv.FormatFloat(v, 'f', 1, 64)
}

// Flow is a chart of what came in, what went out and what was there at the end
// of each week.
type Flow struct {
	ID, Title, About, Unit string
	Weeks                  []string
	In, Out, Open          []int
	Since                  int // the week that a line is drawn before; 0: none
}

// Draw makes the drawing: a plain bar for in, a hatched one for out, points on
// a line for open.
func (v Flow) Draw() Drawing {
	high := 0
	for _, list := range [][]int{v.In, v.Out, v.Open} {
		for _, n := range list {
			high = max(high, n)
		}
	}
	f := newFrame(v.ID, v.Title, v.About, v.Unit, byWeek, v.Weeks, float64(high), 1)
	f.since(v.Since)
	wide := f.x.Width() * 0.36
	open := make([]*float64, len(v.Open))
	for i := range v.Weeks {
		f.bar(f.x.At(i)-wide, wide, v.In[i], Plain)
		f.bar(f.x.At(i), wide, v.Out[i], Lines)
		n := float64(v.Open[i])
		open[i] = &n
		f.Dots = append(f.Dots, f.at(i, n))
	}
	f.trace(open)
	return f.Drawing
}

func (f *frame) bar(x, wide float64, n int, fill Fill) {
	if n > 0 {
		y := f.y.At(float64(n))
		f.Bars = append(f.Bars, Bar{X: x, Y: y, Width: wide, Height: bottom - y, Fill: fill})
	}
}
