package chart

import (
	"math"
	"strings"
)

// The size of a trail, and the room round its marks.
const (
	trailWidth  = 200.0
	trailHeight = 48.0
	trailRoom   = 6.0
)

// Trail draws a few values over time without axes, from the least to the
// greatest of each: it shows which way they go, and the words beside it how far.
// One value, or values that are all the same, lie in the middle.
func Trail(id, title, about string, values []Value) Drawing {
	d := Drawing{ID: id, Title: title, About: about, Width: trailWidth, Height: trailHeight}
	x, y := span(values, func(v Value) float64 { return v.X }), span(values, func(v Value) float64 { return v.Y })
	x.Start, x.End, y.Start, y.End = trailRoom, trailWidth-trailRoom, trailHeight-trailRoom, trailRoom
	var path strings.Builder
	for i, v := range values {
		command := "L"
		if i == 0 {
			command = "M"
		}
		p := Point{x.At(v.X), y.At(v.Y)}
		path.WriteString(command + coord(p.X) + " " + coord(p.Y))
		d.Dots = append(d.Dots, p)
	}
	d.Lines = []Line{{Trace, path.String()}}
	return d
}

// span is from the least to the greatest, one to each side of what is all the
// same.
func span(values []Value, of func(Value) float64) Linear {
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range values {
		low, high = min(low, of(v)), max(high, of(v))
	}
	if low == high {
		low, high = low-1, high+1
	}
	return Linear{Low: low, High: high}
}
