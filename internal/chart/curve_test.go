package chart_test

import (
	"strings"
	"testing"

	"damperdesk/internal/chart"
)

// Values lie where their share of the axis is: the frame is 44 to 630 across and
// 254 to 34 up, both axes end at a round value.
func TestCurvesLieWhereTheirValuesAre(t *testing.T) {
	d := chart.Curves("c", "title", "about", chart.Axis{Unit: "mm", High: 100, Step: 1}, chart.Axis{Unit: "N", High: 900, Step: 1},
		[]chart.Curve{{Kind: chart.Trace, Values: []chart.Value{{X: 0, Y: 0}, {X: 50, Y: 500}, {X: 100, Y: 1000}}, Name: "slow"}},
		[]chart.Value{{X: 50, Y: 500}})
	if want := "M44 254L337 144L630 34"; len(d.Lines) != 1 || d.Lines[0].Path != want {
		t.Errorf("path %+v, want %s", d.Lines, want)
	}
	if len(d.Dots) != 1 || d.Dots[0] != (chart.Point{X: 337, Y: 144}) {
		t.Errorf("dots %+v", d.Dots)
	}
	var words []string
	for _, text := range d.Texts {
		words = append(words, text.Words)
	}
	if got := strings.Join(words, " "); got != "0 200 400 600 800 1000 0 20 40 60 80 100 N mm slow" {
		t.Errorf("texts %q", got)
	}
}

// An axis that need not show 0 begins at the tick before its least value.
func TestAnAxisBeginsAtTheTickBeforeItsLeast(t *testing.T) {
	d := chart.Curves("c", "title", "about", chart.Axis{Unit: "kg", Low: 61, High: 93, Step: 1}, chart.Axis{Unit: "psi", High: 90, Step: 1}, nil,
		[]chart.Value{{X: 60, Y: 0}, {X: 80, Y: 0}})
	var words []string
	for _, text := range d.Texts {
		words = append(words, text.Words)
	}
	if got := strings.Join(words, " "); got != "0 20 40 60 80 100 60 80 100 psi kg" {
		t.Errorf("texts %q", got)
	}
	if len(d.Dots) != 2 || d.Dots[0].X != 44 || d.Dots[1].X != 337 {
		t.Errorf("60 and 80 of 60 to 100 lie at %+v", d.Dots)
	}
}
