package tool

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"damperdesk/internal/quantity"
)

func day(text string) time.Time {
	d, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic(err)
	}
	return d
}

var today = day("2026-10-13")

// wrench is a click wrench in use, calibrated and passed this year.
func wrench(name string, low, high, graduation float64, changes ...func(*Tool)) Tool {
	calibrated := day("2026-03-02")
	t := Tool{Name: name, Kind: "click wrench", RangeMinNm: low, RangeMaxNm: high, Unit: quantity.NewtonMetre,
		Graduation: graduation, State: "in use", LastCalibrated: &calibrated, Passed: true}
	for _, change := range changes {
		change(&t)
	}
	return t
}

// fine is what a certificate may state of a good tool: ±1 %.
func fine(t *Tool) { share := 0.01; t.Certified = &share }

func calibrated(on string) func(*Tool) {
	return func(t *Tool) { d := day(on); t.LastCalibrated = &d }
}

// plain undoes the spaces that hold a number and its unit together.
func plain(text string) string { return strings.ReplaceAll(text, "\u00a0", " ") }

// A usable range from 20 % of full scale: US Army TM 1-1500-204-23-9, table
// 8-1. Twelve months: ISO 6789-1:2017, by a calibration laboratory's page
// (mobiletestncal.com.au, "How often should you calibrate your torque wrench").
// That the day of the month itself still counts, and that months clamp, is this
// shop's rule.
func TestWhyAToolDoesNotServe(t *testing.T) {
	lbf := func(t *Tool) {
		t.Unit, t.Graduation = quantity.PoundForceInch, 5
		t.RangeMinNm, t.RangeMaxNm = 10*0.1129848290276167, 50*0.1129848290276167 // NIST SP 811
	}
	cases := []struct {
		name                 string
		tool                 Tool
		nominal, minus, plus float64
		today                time.Time
		why                  string
	}{
		{"in the middle", wrench("3", 2, 15, 0.1), 7.3, 0.5, 0.5, today, ""},
		{"exactly a fifth", wrench("1", 2, 36.5, 0.1), 7.3, 0.5, 0.5, today, ""},
		{"a hair under a fifth", wrench("1", 2, 36.6, 0.1), 7.3, 0.5, 0.5, today, "2 to 36.6 N·m; 7.3 N·m is under a fifth of its largest."},
		{"under a fifth", wrench("1", 5, 60, 1), 7.3, 0.5, 0.5, today, "5 to 60 N·m; 7.3 N·m is under a fifth of its largest."},
		{"its largest", wrench("4", 1, 7.3, 0.1), 7.3, 0.5, 0.5, today, ""},
		{"over its largest", wrench("4", 1, 7, 0.1), 7.3, 0.5, 0.5, today, "1 to 7 N·m; 7.3 N·m is above its scale."},
		{"its smallest", wrench("5", 7.3, 20, 0.1), 7.3, 0.5, 0.5, today, ""},
		{"under its smallest", wrench("5", 8, 20, 0.1), 7.3, 0.5, 0.5, today, "8 to 20 N·m; 7.3 N·m is below its scale."},
		{"away", wrench("3", 2, 15, 0.1, func(t *Tool) { t.State = "away" }), 7.3, 0.5, 0.5, today, "It is away."},
		{"withdrawn", wrench("3", 2, 15, 0.1, func(t *Tool) { t.State = "withdrawn" }), 7.3, 0.5, 0.5, today, "It is withdrawn from use."},
		{"never calibrated", wrench("3", 2, 15, 0.1, func(t *Tool) { t.LastCalibrated, t.Passed = nil, false }), 7.3, 0.5, 0.5, today, "It has never been calibrated."},
		{"failed", wrench("3", 2, 15, 0.1, func(t *Tool) { t.Passed = false }), 7.3, 0.5, 0.5, today, "It did not pass its last calibration on 2 March 2026."},
		{"a year to the day", wrench("3", 2, 15, 0.1, calibrated("2025-10-13")), 7.3, 0.5, 0.5, today.Add(23 * time.Hour), ""},
		{"a year and a day", wrench("3", 2, 15, 0.1, calibrated("2025-10-12")), 7.3, 0.5, 0.5, today, "It was last calibrated on 12 October 2025, more than 12 months ago."},
		{"leap day, last day", wrench("3", 2, 15, 0.1, calibrated("2024-02-29")), 7.3, 0.5, 0.5, day("2025-02-28"), ""},
		{"leap day, over", wrench("3", 2, 15, 0.1, calibrated("2024-02-29")), 7.3, 0.5, 0.5, day("2025-03-01"), "It was last calibrated on 29 February 2024, more than 12 months ago."},
		{"a mark near the bound", wrench("3", 2, 15, 0.5, fine), 7.3, 0.3, 0.3, today, ""},
		{"off by a hundredth at the bound", wrench("3", 2, 15, 0.5, fine), 7.3, 0.2, 0.2, today, "It may be 1 % off, which 7.1 to 7.5 N·m does not leave room for."},
		{"4 % of a wrench above 10 N·m, not confirmed", wrench("3", 2, 15, 0.1), 7.3, 0.2, 0.2, today, "It may be 4 % off, which 7.1 to 7.5 N·m does not leave room for."},
		{"4 % leave room", wrench("3", 2, 15, 0.1), 7.3, 0.4, 0.4, today, ""},
		{"6 % of a wrench up to 10 N·m do not", wrench("3", 2, 10, 0.1), 7.3, 0.4, 0.4, today, "It may be 6 % off, which 6.9 to 7.7 N·m does not leave room for."},
		{"the shop's table before the default", wrench("3", 2, 10, 0.1, func(t *Tool) { share := 0.04; t.Confirmed = &share }), 7.3, 0.4, 0.4, today, ""},
		{"the certificate before the shop's table", wrench("3", 2, 10, 0.1, fine, func(t *Tool) { share := 0.2; t.Confirmed = &share }), 7.3, 0.2, 0.2, today, ""},
		{"it fell", wrench("3", 2, 15, 0.1, func(t *Tool) { on := day("2026-10-12"); t.Mishap, t.MishapOn = Dropped, &on }), 7.3, 0.5, 0.5, today, "It fell on 12 October 2026 and was not calibrated since."},
		{"4,999 uses", wrench("3", 2, 15, 0.1, func(t *Tool) { t.Uses = 4999 }), 7.3, 0.5, 0.5, today, ""},
		{"5,000 uses", wrench("3", 2, 15, 0.1, func(t *Tool) { t.Uses = 5000 }), 7.3, 0.5, 0.5, today, "It was used 5000 times since its last calibration, which is good for 5000."},
		{"no mark in the window", wrench("3", 2, 15, 1), 7.3, 0.2, 0.2, today, "None of its marks lies between 7.1 and 7.5 N·m."},
		{"read between marks", wrench("3", 2, 15, 1, fine, func(t *Tool) { t.Kind = "dial wrench" }), 7.3, 0.2, 0.2, today, ""},
		{"no window given", wrench("3", 2, 15, 1), 7.3, 0, 0, today, ""},
		{"pound-force inches, a fifth", wrench("6", 1, 2, 1, lbf), 10 * 0.1129848290276167, 0, 0, today, ""},
		{"pound-force inches, below", wrench("6", 1, 2, 1, lbf), 1, 0.1, 0.1, today, "10 to 50 lbf·in; 9 lbf·in is below its scale."},
	}
	for _, c := range cases {
		got := Choices([]Tool{c.tool}, c.nominal, c.minus, c.plus, c.today)[0]
		if plain(got.Why) != c.why || got.Usable != (c.why == "") {
			t.Errorf("%s: usable %v, why %q; want why %q", c.name, got.Usable, plain(got.Why), c.why)
		}
	}
}

// Best between 30 and 80 % of full scale: US Army TM 1-1500-204-23-9, table 8-1.
func TestTheBestToolStandsFirst(t *testing.T) {
	tools := []Tool{
		wrench("too large", 5, 60, 1),
		wrench("at its end", 1, 8, 0.05),
		wrench("coarse", 2, 15, 0.5, fine),
		wrench("wide", 2, 20, 0.1),
		wrench("best", 2, 15, 0.1),
		wrench("away", 2, 15, 0.1, func(t *Tool) { t.State = "away" }),
	}
	var got []string
	for _, c := range Choices(tools, 7.3, 0.5, 0.5, today) {
		got = append(got, c.Tool.Name)
	}
	want := []string{"best", "wide", "coarse", "at its end", "away", "too large"}
	if !slices.Equal(got, want) {
		t.Errorf("for 7.3 N·m: got %v, want %v", got, want)
	}
}

func TestNoteTellsKindAndScale(t *testing.T) {
	screwdriver := wrench("7", 1, 6, 0.1, func(t *Tool) { t.Kind = "click screwdriver" })
	for _, c := range []struct {
		tool Tool
		want string
	}{{wrench("3", 2, 15, 0.1), "click, 2 to 15 N·m"}, {screwdriver, "click, 1 to 6 N·m"}} {
		if got := plain(Choices([]Tool{c.tool}, 5, 0, 0, today)[0].Note); got != c.want {
			t.Errorf("note of %s: got %q, want %q", c.tool.Kind, got, c.want)
		}
	}
}

func TestChoicesKeepEveryToolOnceAndUsableFirst(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var tools []Tool
		for range rapid.IntRange(0, 8).Draw(t, "tools") {
			low := rapid.Float64Range(0.1, 10).Draw(t, "low")
			one := wrench("w", low, low+rapid.Float64Range(0.1, 60).Draw(t, "more"), 0.1)
			one.ID, one.Passed = int64(len(tools)+1), rapid.Bool().Draw(t, "passed")
			tools = append(tools, one)
		}
		nominal := rapid.Float64Range(0.1, 40).Draw(t, "nominal")
		choices := Choices(tools, nominal, 0.5, 0.5, today)
		seen := map[int64]bool{}
		for i, c := range choices {
			seen[c.Tool.ID] = true
			if i > 0 && c.Usable && !choices[i-1].Usable {
				t.Fatalf("a usable tool stands behind one that is not: %+v", choices)
			}
			inside := nominal >= 0.2*c.Tool.RangeMaxNm && nominal >= c.Tool.RangeMinNm && nominal <= c.Tool.RangeMaxNm
			if c.Usable && (!inside || !c.Tool.Passed) {
				t.Fatalf("%g N·m by a tool of %g to %g, passed %v", nominal, c.Tool.RangeMinNm, c.Tool.RangeMaxNm, c.Tool.Passed)
			}
		}
		if len(choices) != len(tools) || len(seen) != len(tools) {
			t.Fatalf("%d tools became %d choices", len(tools), len(choices))
		}
	})
}
