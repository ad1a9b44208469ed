package templates

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Span is one drawing for every range: a band on a line from Low to High, with
// marks. What it shows must also stand in text; Label says it to whoever
// cannot see it.
type Span struct {
	Low, High float64
	Ticks     []float64 // small strokes on the line
	Band      *Band     // where a value may be
	Best      *float64  // target or best guess: a thick tick
	Reading   *float64  // a dot
	Limit     *float64  // a dashed line
	Today     *float64  // a thin line
	Label     string
}

// Band is the part of a line from From to To.
type Band struct{ From, To float64 }

// at places v on the line of 100, never outside it: a value beyond the ends is
// drawn at the end, and its text says how far beyond it is.
func (s Span) at(v float64) float64 {
	if !(s.High > s.Low) || math.IsNaN(v) {
		return 0
	}
	return min(max((v-s.Low)/(s.High-s.Low)*100, 0), 100)
}

func (s Span) line() string {
	var d strings.Builder
	d.WriteString("M0 6H100")
	for _, t := range s.Ticks {
		d.WriteString("M" + coord(s.at(t)) + " 3v6")
	}
	return d.String()
}

func (s Span) bandX() string     { return coord(s.at(s.Band.From)) }
func (s Span) bandWidth() string { return coord(max(s.at(s.Band.To)-s.at(s.Band.From), 0)) }

// reading keeps the dot, which is round, inside the drawing.
func (s Span) reading() string { return coord(min(max(s.at(*s.Reading), 2), 98)) }

// coord prints a coordinate to a tenth.
func coord(v float64) string {
	return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64)
}

// Ruler draws the window of a specified value, its target, and where the
// chosen tool stays.
type Ruler struct {
	Low, Target, High             float64 // in the unit shown
	LowText, TargetText, HighText string
	Tool                          *Band // what the tool's accuracy leaves, in the unit shown
	Label                         string
}

const (
	rulerFrom = 50.0 // the window's ends in a drawing of 400
	rulerTo   = 350.0
)

// at keeps what lies far outside the window at the drawing's edge.
func (r Ruler) at(v float64) float64 {
	if !(r.High > r.Low) {
		return (rulerFrom + rulerTo) / 2
	}
	return min(max(rulerFrom+(v-r.Low)/(r.High-r.Low)*(rulerTo-rulerFrom), 2), 398)
}

// line has eight parts over the window and one outside at each end.
func (r Ruler) line() string {
	var d strings.Builder
	d.WriteString("M0 30H400")
	for i := -1; i <= 9; i++ {
		long := 5
		if i == 0 || i == 4 || i == 8 {
			long = 9
		}
		fmt.Fprintf(&d, "M%s 30v%d", coord(rulerFrom+float64(i)*(rulerTo-rulerFrom)/8), long)
	}
	return d.String()
}

// targetApart says whether the target's number has room beside those at the
// ends.
func (r Ruler) targetApart() bool {
	x := r.at(r.Target)
	return x-rulerFrom > 60 && rulerTo-x > 60
}

func (r Ruler) toolX() string { return coord(r.at(r.Tool.From)) }
func (r Ruler) toolWidth() string {
	return coord(max(r.at(r.Tool.To)-r.at(r.Tool.From), 0))
}

// Stop is one step on the rails.
type Stop struct {
	Signed   bool
	StopHere bool
}

// Rails draws a bench sheet as stops on a line; Now is the index of the step
// shown, -1 for none.
type Rails struct {
	Stops []Stop
	Now   int
}

const railsWidth = 782.0

// x spreads the stops over the line.
func (r Rails) x(i int) float64 {
	if len(r.Stops) < 2 {
		return railsWidth / 2
	}
	return 16 + float64(i)*(railsWidth-32)/float64(len(r.Stops)-1)
}

// radius makes room where there are many stops.
func (r Rails) radius() string {
	if len(r.Stops) < 2 {
		return "6"
	}
	return coord(min(6, (railsWidth-32)/float64(len(r.Stops)-1)/2-1))
}

// run is how far the line is filled: to the last stop before the first one
// that is not signed.
func (r Rails) run() string {
	open := slices.IndexFunc(r.Stops, func(s Stop) bool { return !s.Signed })
	switch open {
	case -1:
		open = len(r.Stops) - 1
	case 0:
		return "M16 14"
	}
	return "M16 14H" + coord(r.x(open))
}

func (r Rails) octagon(i int) string {
	return "M" + coord(r.x(i)-3.3) + " 6h6.6l4.7 4.7v6.6l-4.7 4.7h-6.6l-4.7-4.7v-6.6z"
}

func stopClass(s Stop) string {
	if s.Signed {
		return "run"
	}
	return "ahead"
}

// label says the drawing in words: "Step 22 of 26. Signed: 1 to 21. Stop here:
// 6, 18 (signed), 24."
func (r Rails) label() string {
	var signed, stops []string
	for i := 0; i < len(r.Stops); i++ {
		from := i
		for i < len(r.Stops) && r.Stops[i].Signed {
			i++
		}
		switch {
		case i-from == 1:
			signed = append(signed, num(from+1))
		case i > from:
			signed = append(signed, num(from+1)+" to "+num(i))
		}
	}
	for i, s := range r.Stops {
		if !s.StopHere {
			continue
		}
		word := " ahead"
		if s.Signed {
			word = " signed"
		}
		stops = append(stops, num(i+1)+word)
	}
	text := num(len(r.Stops)) + " steps."
	if r.Now >= 0 {
		text = "Step " + num(r.Now+1) + " of " + num(len(r.Stops)) + "."
	}
	if len(signed) > 0 {
		text += " Signed: " + strings.Join(signed, ", ") + "."
	}
	if len(stops) > 0 {
		text += " Stop here: " + strings.Join(stops, ", ") + "."
	}
	return text
}
