// Package chart computes where the marks of a chart lie, as plain numbers and
// words that a template writes into SVG. What they look like is the
// stylesheet's: marks that mean different things differ in shape or pattern,
// never in colour alone.
package chart

import "strings"

// Drawing is one chart, drawn in the order of its fields.
type Drawing struct {
	ID    string // of the drawing in its page
	Title string // what it shows
	About string // what there is to see, for whoever cannot see it

	Width, Height float64
	Grid          string // path
	Bars          []Bar
	Lines         []Line
	Dots          []Point
	Flags         []Point // triangles with their tip there
	Texts         []Text
}

// Point is a place in a drawing.
type Point struct{ X, Y float64 }

// Bar is a rectangle in one of the fills.
type Bar struct {
	X, Y, Width, Height float64
	Fill                Fill
}

// Fill is a paint or pattern of a bar.
type Fill string

const (
	Plain Fill = "wait"
	Solid Fill = "work"
	Lines Fill = "lines" // a pattern
	Dots  Fill = "dots"  // a pattern
	Empty Fill = ""
)

// Pattern is whether the fill is a pattern of the page, by its name, and no
// class.
func (f Fill) Pattern() bool { return f == Lines || f == Dots }

// Line is a path of one kind.
type Line struct {
	Kind Kind
	Path string
}

// Kind is what a line means.
type Kind string

const (
	Trace Kind = "trace"
	Mean  Kind = "best"
	Limit Kind = "limit"
	Since Kind = "today"
)

// Text is words at a place; Anchor is which part of them lies there.
type Text struct {
	Point
	Words  string
	Anchor Anchor
	Strong bool
}

// Anchor is the part of a text that lies at its place.
type Anchor string

const (
	Start  Anchor = ""
	Middle Anchor = "mid"
	End    Anchor = "end"
)

// ViewBox is for the attribute.
func (d Drawing) ViewBox() string {
	return "0 0 " + coord(d.Width) + " " + coord(d.Height)
}

// Triangle is the path of a flag.
func (p Point) Triangle() string {
	return "M" + coord(p.X) + " " + coord(p.Y) + "l8 14h-16z"
}

// Coord prints a coordinate for an attribute.
func Coord(v float64) string { return coord(v) }

// The frame that the charts by week share.
const (
	width  = 680.0
	height = 284.0
	left   = 44.0
	right  = 630.0
	top    = 34.0
	bottom = 254.0
	line   = 18.0 // between two lines of text
)

// frame is a drawing with its scales, grid and axes.
type frame struct {
	Drawing
	x Weeks
	y Linear
}

// byWeek is what the names of the weeks are.
const byWeek = "ISO week"

// newFrame spans the values from 0 to high. names are those of the weeks, or of
// what axis says; unit is of the values.
func newFrame(id, title, about, unit, axis string, names []string, high, step float64) *frame {
	ticks := Ticks(high, step, 6)
	f := &frame{
		Drawing: Drawing{ID: id, Title: title, About: about, Width: width, Height: height},
		x:       Weeks{N: len(names), Start: left, End: right},
		y:       Linear{Low: 0, High: ticks[len(ticks)-1], Start: bottom, End: top},
	}
	var grid strings.Builder
	for _, v := range ticks {
		y := f.y.At(v)
		grid.WriteString("M" + coord(left) + " " + coord(y) + "H" + coord(right))
		f.text(left-6, y+5, number(v), End)
	}
	f.Grid = grid.String()
	every := f.x.Every(30)
	for i := len(names) - 1; i >= 0; i -= every {
		f.text(f.x.At(i), bottom+line+2, names[i], Middle)
	}
	f.text(left, line-4, unit, Start)
	f.text(right, line-4, axis, End)
	return f
}

func (f *frame) text(x, y float64, words string, anchor Anchor) {
	f.Texts = append(f.Texts, Text{Point: Point{x, y}, Words: words, Anchor: anchor})
}

func (f *frame) add(kind Kind, path string) {
	if path != "" {
		f.Lines = append(f.Lines, Line{kind, path})
	}
}

// at is the place of a value of week i.
func (f *frame) at(i int, v float64) Point { return Point{f.x.At(i), f.y.At(v)} }

// since is a line before week i; none before the first.
func (f *frame) since(i int) {
	if i > 0 {
		f.add(Since, "M"+coord(f.x.Edge(i))+" "+coord(top)+"V"+coord(bottom))
	}
}

// level is a line across at v.
func (f *frame) level(kind Kind, v float64) {
	f.add(kind, "M"+coord(left)+" "+coord(f.y.At(v))+"H"+coord(right))
}

// trace joins the values that are there. A gap stays open.
func (f *frame) trace(values []*float64) {
	var path strings.Builder
	joined := false
	for i, v := range values {
		if v == nil {
			joined = false
			continue
		}
		command := "M"
		if joined {
			command = "L"
		}
		at := f.at(i, *v)
		path.WriteString(command + coord(at.X) + " " + coord(at.Y))
		joined = true
	}
	f.add(Trace, path.String())
}
