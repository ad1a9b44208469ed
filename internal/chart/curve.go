package chart

import "strings"

// Axis is from the last tick that is not above Low to High, named by its unit.
type Axis struct {
	Unit      string
	Low, High float64
	Step      float64 // the finest between two ticks
}

// ticks are at most most of them.
func (a Axis) ticks(most int) []float64 {
	list := Ticks(a.High, a.Step, most)
	for len(list) > 2 && list[1] <= a.Low {
		list = list[1:]
	}
	return list
}

// Value is a pair of numbers on two axes.
type Value struct{ X, Y float64 }

// Curve is values joined in their order; it means its Kind.
type Curve struct {
	Kind   Kind
	Values []Value
	Name   string // beside its end; empty: none
}

// Curves draws curves over each other, with dots on them.
func Curves(id, title, about string, x, y Axis, curves []Curve, dots []Value) Drawing {
	across, up := x.ticks(8), y.ticks(6)
	d := Drawing{ID: id, Title: title, About: about, Width: width, Height: height}
	toX := Linear{Low: across[0], High: across[len(across)-1], Start: left, End: right}
	toY := Linear{Low: up[0], High: up[len(up)-1], Start: bottom, End: top}
	text := func(x, y float64, words string, anchor Anchor) {
		d.Texts = append(d.Texts, Text{Point: Point{x, y}, Words: words, Anchor: anchor})
	}
	var grid strings.Builder
	for _, v := range up {
		grid.WriteString("M" + coord(left) + " " + coord(toY.At(v)) + "H" + coord(right))
		text(left-6, toY.At(v)+5, number(v), End)
	}
	d.Grid = grid.String()
	for _, v := range across {
		text(toX.At(v), bottom+line+2, number(v), Middle)
	}
	text(left, line-4, y.Unit, Start)
	text(right, line-4, x.Unit, End)
	for _, c := range curves {
		var path strings.Builder
		for i, v := range c.Values {
			command := "L"
			if i == 0 {
				command = "M"
			}
			path.WriteString(command + coord(toX.At(v.X)) + " " + coord(toY.At(v.Y)))
		}
		d.Lines = append(d.Lines, Line{c.Kind, path.String()})
		if n := len(c.Values); n > 0 && c.Name != "" {
			text(right+6, toY.At(c.Values[n-1].Y)+5, c.Name, Start)
		}
	}
	for _, v := range dots {
		d.Dots = append(d.Dots, Point{toX.At(v.X), toY.At(v.Y)})
	}
	return d
}
