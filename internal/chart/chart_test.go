package chart

import (
	"math"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

// Expected values by hand.
func TestTicksAreRoundAndReachTheTop(t *testing.T) {
	for _, c := range []struct {
		high, step float64
		most       int
		want       []float64
	}{
		{6.9, 0.5, 6, []float64{0, 2, 4, 6, 8}},
		{8, 0.5, 6, []float64{0, 2, 4, 6, 8}},
		{8.01, 0.5, 6, []float64{0, 2, 4, 6, 8, 10}},
		{10, 0.5, 6, []float64{0, 2, 4, 6, 8, 10}},
		{10.01, 0.5, 6, []float64{0, 5, 10, 15}},
		{0.3, 0.1, 6, []float64{0, 0.1, 0.2, 0.3}},
		{0.3, 1, 6, []float64{0, 1}}, // whole things
		{3, 1, 6, []float64{0, 1, 2, 3}},
		{47, 1, 6, []float64{0, 10, 20, 30, 40, 50}},
		{0, 1, 6, []float64{0, 1}},
		{-4, 1, 6, []float64{0, 1}},
		{math.NaN(), 1, 6, []float64{0, 1}},
		{math.Inf(1), 1, 6, []float64{0, 1}},
		{5, 1, 0, []float64{0, 5}},
	} {
		got := Ticks(c.high, c.step, c.most)
		same := slices.EqualFunc(got, c.want, func(a, b float64) bool { return math.Abs(a-b) < 1e-9 })
		if !same {
			t.Errorf("Ticks(%v, %v, %d) = %v, want %v", c.high, c.step, c.most, got, c.want)
		}
	}
}

func TestTicksProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		high := rapid.Float64Range(0, 1e7).Draw(t, "high")
		step := rapid.SampledFrom([]float64{0.1, 0.5, 1}).Draw(t, "step")
		most := rapid.IntRange(2, 12).Draw(t, "most")
		list := Ticks(high, step, most)
		last := list[len(list)-1]
		if list[0] != 0 || last < high*(1-1e-9) || len(list) > most || list[1] < step*(1-1e-9) {
			t.Errorf("Ticks(%v, %v, %d) = %v", high, step, most, list)
		}
	})
}

func TestLinear(t *testing.T) {
	up := Linear{Low: 0, High: 8, Start: 250, End: 16}
	for _, c := range []struct {
		s    Linear
		v    float64
		want float64
	}{
		{up, 0, 250}, {up, 8, 16}, {up, 4, 133},
		{up, -1, 250}, {up, 9, 16}, {up, math.NaN(), 250}, {up, math.Inf(1), 16},
		{Linear{Low: 3, High: 3, Start: 10, End: 20}, 3, 10}, // no length
		{Linear{Low: 3, High: 2, Start: 10, End: 20}, 2.5, 10},
	} {
		if got := c.s.At(c.v); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%+v at %v: %v, want %v", c.s, c.v, got, c.want)
		}
	}
}

func TestWeeks(t *testing.T) {
	s := Weeks{N: 4, Start: 40, End: 80}
	if s.At(0) != 45 || s.At(3) != 75 || s.Edge(1) != 50 || s.Width() != 10 {
		t.Errorf("middles %v and %v, edge %v, width %v", s.At(0), s.At(3), s.Edge(1), s.Width())
	}
	if n := s.Every(25); n != 3 {
		t.Errorf("every %d is named, want 3", n)
	}
	if none := (Weeks{Start: 40, End: 80}); none.Width() != 0 || none.Every(25) != 1 {
		t.Errorf("no weeks: width %v, every %d", none.Width(), none.Every(25))
	}
}

func TestCoordinatesAndNumbersAreShort(t *testing.T) {
	for v, want := range map[float64]string{0: "0", -0.04: "0", 12.34: "12.3", 12.96: "13", 250: "250"} {
		if got := coord(v); got != want {
			t.Errorf("coord(%v) = %s, want %s", v, got, want)
		}
	}
	for v, want := range map[float64]string{0: "0", 0.1 + 0.2: "0.3", 1000: "1000", 2.5: "2.5"} {
		if got := number(v); got != want {
			t.Errorf("number(%v) = %s, want %s", v, got, want)
		}
	}
}

// Text is drawn 13.5 units high, in which no digit or letter is wider than 8.6 on
// average (measured in the widest of the stylesheet's fonts).
const (
	textWide = 8.6
	textHigh = 13.5
)

// inside fails unless every mark lies in the drawing.
func inside(t *rapid.T, d Drawing) {
	for _, text := range d.Texts {
		wide := textWide * float64(utf8.RuneCountInString(text.Words))
		from := text.X
		switch text.Anchor {
		case Middle:
			from -= wide / 2
		case End:
			from -= wide
		}
		if from < 0 || from+wide > d.Width || text.Y-textHigh < 0 || text.Y > d.Height {
			t.Errorf("%q at %v lies outside of %v by %v", text.Words, text.Point, d.Width, d.Height)
		}
	}
	for _, b := range d.Bars {
		if !(b.X >= 0 && b.X+b.Width <= d.Width+1e-9 && b.Y >= 0 && b.Y+b.Height <= d.Height && b.Width > 0 && b.Height > 0) {
			t.Errorf("bar %+v lies outside of %v by %v", b, d.Width, d.Height)
		}
	}
	for _, p := range slices.Concat(d.Dots, d.Flags) {
		if !(p.X >= 0 && p.X <= d.Width && p.Y >= 0 && p.Y <= d.Height) {
			t.Errorf("point %v lies outside of %v by %v", p, d.Width, d.Height)
		}
	}
	for _, l := range d.Lines {
		if strings.Contains(l.Path, "NaN") {
			t.Errorf("path %s", l.Path)
		}
	}
}

// names are those of n weeks.
func names(n int) []string { return slices.Repeat([]string{"53"}, n) }

func TestNothingLeavesTheDrawing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 110).Draw(t, "weeks")
		high := rapid.SampledFrom([]float64{0.2, 3, 40, 999}).Draw(t, "high")
		value := rapid.Float64Range(0, high)
		v := Values{Weeks: names(n), Unit: "days", Since: rapid.IntRange(0, n).Draw(t, "since")}
		for range n {
			var p *float64
			if x := value.Draw(t, "value"); rapid.Bool().Draw(t, "there") {
				p = &x
			}
			v.Values = append(v.Values, p)
			v.Flagged = append(v.Flagged, rapid.Bool().Draw(t, "flagged"))
		}
		if rapid.Bool().Draw(t, "limits") {
			mean, half := value.Draw(t, "mean"), value.Draw(t, "half")
			v.Limits = &Limits{mean - half, mean, mean + half}
		}
		inside(t, v.Draw())

		count := rapid.SliceOfN(rapid.IntRange(0, int(high)), n, n)
		inside(t, Flow{Weeks: names(n), Unit: "jobs", In: count.Draw(t, "in"), Out: count.Draw(t, "out"), Open: count.Draw(t, "open")}.Draw())
	})
}

func TestAGapIsNotJoined(t *testing.T) {
	one, two := 1.0, 2.0
	d := Values{Weeks: names(4), Values: []*float64{&one, &two, nil, &one}, Flagged: make([]bool, 4)}.Draw()
	path := d.Lines[len(d.Lines)-1].Path
	if strings.Count(path, "M") != 2 || strings.Count(path, "L") != 1 || len(d.Dots) != 3 {
		t.Errorf("trace %s with %d dots, want one line, one point apart, three dots", path, len(d.Dots))
	}
}

func TestStackKeepsItsParts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Stack{Fills: []Fill{Plain, Solid, Lines, Dots}}
		part := rapid.Float64Range(0, 30)
		for range rapid.IntRange(0, 3).Draw(t, "rows") {
			s.Rows = append(s.Rows, Row{Words: "12.3 days, 12 weeks before", Parts: rapid.SliceOfN(part, 4, 4).Draw(t, "parts")})
		}
		inside(t, s.Draw())
	})
	// By hand: 4 days are the 538 units between the ends, so 1 day is 134.5.
	d := Stack{Fills: []Fill{Plain, Solid}, Rows: []Row{{Parts: []float64{1, 3}}, {Parts: []float64{0, 1}}}}.Draw()
	want := []Bar{{1, 24, 134.5, 36, Plain}, {135.5, 24, 403.5, 36, Solid}, {1, 114, 134.5, 36, Solid}}
	if !slices.Equal(d.Bars, want) {
		t.Errorf("bars %+v, want %+v", d.Bars, want)
	}
}
