package torque_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/quantity"
	"damperdesk/internal/torque"
)

// rows reads testdata/torque; every row has a source.
func rows(t *testing.T, file string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "torque", file+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil || len(records) < 2 {
		t.Fatalf("%s.csv: %d lines, %v", file, len(records), err)
	}
	var all []map[string]string
	for i, record := range records[1:] {
		row := map[string]string{}
		for at, cell := range record {
			row[records[0][at]] = cell
		}
		if row["source"] == "" {
			t.Errorf("%s.csv line %d has no source", file, i+2)
		}
		all = append(all, row)
	}
	return all
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// holds judges by "abs 1e-9" or "rel 1e-9"; go test -v prints how far off it is.
func holds(t *testing.T, got, want float64, tolerance string) bool {
	t.Helper()
	kind, text, _ := strings.Cut(tolerance, " ")
	off, most := math.Abs(got-want), number(t, text)
	if kind == "rel" {
		off /= math.Abs(want)
	}
	t.Logf("off by %.2g of %s", off, tolerance)
	return off <= most
}

func TestSettingsAreThoseOfTheHandbooks(t *testing.T) {
	for _, row := range rows(t, "arm") {
		arm := torque.Arm{Length: number(t, row["length"]), Extension: number(t, row["extension"]), Angle: number(t, row["angle"])}
		unit := quantity.Unit(row["unit"])
		nm, err := quantity.FromUnit(quantity.KindTorque, number(t, row["torque"]), unit)
		if err != nil {
			t.Fatal(err)
		}
		set, err := arm.Setting(nm)
		if got := quantity.Convert(quantity.KindTorque, set, unit); err != nil || !holds(t, got, number(t, row["setting"]), row["tolerance"]) {
			t.Errorf("%+v for %s %s: set %v, %v; want %s (%s)", arm, row["torque"], unit, got, err, row["setting"], row["source"])
		}
		if back, err := arm.Applied(set); err != nil || math.Abs(back-nm) > 1e-12*nm {
			t.Errorf("%+v set to %v applies %v, %v; want %v", arm, set, back, err, nm)
		}
	}
}

func TestDeviationsAreThoseOfTheStandard(t *testing.T) {
	for _, row := range rows(t, "deviation") {
		p := torque.Point{Set: number(t, row["set"]), Reference: number(t, row["reference"])}
		list, err := torque.Judge([]torque.Point{p}, number(t, row["share"]))
		if err != nil {
			t.Fatal(err)
		}
		r := list[0]
		if math.Abs(r.Deviation-number(t, row["deviation"])) > number(t, row["tolerance"]) || r.Passed != (row["passed"] == "yes") {
			t.Errorf("%+v: %v, passed %v; want %s, %s", p, r.Deviation, r.Passed, row["deviation"], row["passed"])
		}
	}
}

var reasons = map[string]torque.Reason{
	"suits": torque.Suits, "below scale": torque.BelowScale, "above scale": torque.AboveScale, "under a fifth": torque.UnderFifth,
	"no mark": torque.NoMark, "no mark between": torque.TooFarOff, "too far off": torque.TooFarOff,
}

func TestAToolSuitsATorqueOrSaysWhyNot(t *testing.T) {
	for _, row := range rows(t, "suit") {
		tool := torque.Tool{Min: number(t, row["min"]), Max: number(t, row["max"]), Step: number(t, row["step"]), Clicks: row["clicks"] == "yes", Share: number(t, row["share"])}
		w := torque.Window{Nominal: number(t, row["nominal"]), Low: number(t, row["low"]), High: number(t, row["high"])}
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
