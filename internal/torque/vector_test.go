package torque_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/quantity"
	"damperdesk/internal/torque"
	"damperdesk/internal/vector"
)

func TestSettingsAreThoseOfTheHandbooks(t *testing.T) {
	for _, row := range vector.Rows(t, "torque", "arm") {
		arm := torque.Arm{Length: row.Float(t, "length"), Extension: row.Float(t, "extension"), Angle: row.Float(t, "angle")}
		unit := quantity.Unit(row["unit"])
		nm, err := quantity.FromUnit(quantity.KindTorque, row.Float(t, "torque"), unit)
		if err != nil {
			t.Fatal(err)
		}
		set, err := arm.Setting(nm)
		row.Near(t, quantity.Convert(quantity.KindTorque, set, unit), err, "setting")
		if back, err := arm.Applied(set); err != nil || math.Abs(back-nm) > 1e-12*nm {
			t.Errorf("%+v set to %v applies %v, %v; want %v", arm, set, back, err, nm)
		}
	}
}

func TestDeviationsAreThoseOfTheStandard(t *testing.T) {
	for _, row := range vector.Rows(t, "torque", "deviation") {
		p := torque.Point{Set: row.Float(t, "set"), Reference: row.Float(t, "reference")}
		list, err := torque.Judge([]torque.Point{p}, row.Float(t, "share"))
		if err != nil {
			t.Fatal(err)
		}
		r := list[0]
		row.Near(t, r.Deviation, nil, "deviation")
		if r.Passed != (row["passed"] == "yes") {
			t.Errorf("%+v: passed %v, want %s", p, r.Passed, row["passed"])
		}
	}
}

var reasons = map[string]torque.Reason{
	"suits": torque.Suits, "below scale": torque.BelowScale, "above scale": torque.AboveScale, "under a fifth": torque.UnderFifth,
	"no mark": torque.NoMark, "no mark between": torque.TooFarOff, "too far off": torque.TooFarOff,
}

func TestAToolSuitsATorqueOrSaysWhyNot(t *testing.T) {
	for _, row := range vector.Rows(t, "torque", "suit") {
		tool := torque.Tool{Min: row.Float(t, "min"), Max: row.Float(t, "max"), Step: row.Float(t, "step"), Clicks: row["clicks"] == "yes", Share: row.Float(t, "share")}
		w := torque.Window{Nominal: row.Float(t, "nominal"), Low: row.Float(t, "low"), High: row.Float(t, "high")}
		want, known := reasons[row["want"]]
		if got := tool.Suit(w); !known || got != want {
			t.Errorf("%+v for %+v: %v, want %s (%s)", tool, w, got, row["want"], row["source"])
		}
	}
}

func TestWhatIsNoArmIsRefusedByItsName(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for says, arm := range map[string]torque.Arm{
		"length of the wrench 0":   {Length: 0},
		"length of the wrench NaN": {Length: nan},
		"extension +Inf":           {Length: 300, Extension: inf},
		"angle 181°":               {Length: 300, Extension: 50, Angle: 181},
		"angle NaN°":               {Length: 300, Extension: 50, Angle: nan},
		"extension -300":           {Length: 300, Extension: -300},
		"extension 301":            {Length: 300, Extension: 301, Angle: 180},
	} {
		if _, err := arm.Setting(5); err == nil || !strings.HasPrefix(err.Error(), says) {
			t.Errorf("%+v: %v, want %q", arm, err, says)
		}
	}
	for _, nm := range []float64{0, -1, nan, inf} {
		if _, err := (torque.Arm{Length: 300}).Setting(nm); err == nil {
			t.Errorf("a torque of %v is set", nm)
		}
		if _, err := torque.Deviation(nm, 5); err == nil {
			t.Errorf("a setting of %v has a deviation", nm)
		}
		if _, err := torque.Deviation(5, nm); err == nil {
			t.Errorf("a reference of %v has a deviation", nm)
		}
	}
	if _, err := torque.Judge(nil, 0.3); err == nil {
		t.Error("a tool may be 30 % off")
	}
}

// A longer extension in line asks for less, across it changes nothing, and the
// unit of the lengths does not matter.
func TestArmProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nm := rapid.Float64Range(0.1, 100).Draw(t, "torque")
		a := torque.Arm{Length: rapid.Float64Range(50, 600).Draw(t, "length"), Extension: rapid.Float64Range(0, 200).Draw(t, "extension"),
			Angle: rapid.Float64Range(0, 90).Draw(t, "angle")}
		set, err := a.Setting(nm)
		if err != nil || set > nm*(1+1e-12) {
			t.Fatalf("%+v: %v, %v for %v", a, set, err, nm)
		}
		longer := a
		longer.Extension += 10
		if more, err := longer.Setting(nm); err != nil || more > set*(1+1e-12) {
			t.Errorf("%+v: %v, %v; a shorter one asks for %v", longer, more, err, set)
		}
		inches := torque.Arm{Length: a.Length / 25.4, Extension: a.Extension / 25.4, Angle: a.Angle}
		if same, err := inches.Setting(nm); err != nil || math.Abs(same-set) > 1e-12*set {
			t.Errorf("in inches %v, %v; in millimetres %v", same, err, set)
		}
	})
}

// Whatever a tool is set to that keeps the window brings a torque inside it, at
// the most it may be off; a tool that suits has such a setting.
func TestWhatKeepsAWindowStaysInIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tool := torque.Tool{Min: 2, Max: 24, Step: rapid.SampledFrom([]float64{0.1, 0.25, 0.5, 1}).Draw(t, "step"),
			Clicks: rapid.Bool().Draw(t, "clicks"), Share: rapid.SampledFrom([]float64{0.01, 0.04, 0.06}).Draw(t, "share")}
		nominal := rapid.Float64Range(5, 20).Draw(t, "nominal")
		w := torque.Window{Nominal: nominal, Low: nominal - rapid.Float64Range(0.1, 2).Draw(t, "minus"), High: nominal + rapid.Float64Range(0.1, 2).Draw(t, "plus")}
		found := false
		for mark := math.Floor(w.Low/tool.Step) * tool.Step; mark <= w.High+tool.Step; mark += tool.Step {
			if !tool.Keeps(mark, w) {
				continue
			}
			found = true
			if low, high := torque.Span(mark, tool.Share); low < w.Low*(1-1e-6) || high > w.High*(1+1e-6) {
				t.Errorf("set to %v it brings %v to %v, outside %+v", mark, low, high, w)
			}
		}
		if suits := tool.Suit(w) == torque.Suits; tool.Clicks && suits != found {
			t.Errorf("%+v for %+v: %v, but a mark that keeps it: %v", tool, w, tool.Suit(w), found)
		}
	})
}

func BenchmarkSuit(b *testing.B) {
	b.ReportAllocs()
	tool, w := torque.Tool{Min: 2, Max: 24, Step: 0.1, Clicks: true, Share: 0.04}, torque.Window{Nominal: 7.3, Low: 6.8, High: 7.8}
	for b.Loop() {
		tool.Suit(w)
	}
}
