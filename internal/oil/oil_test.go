package oil

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/vector"
)

func TestViscosityIndex(t *testing.T) {
	for _, row := range vector.Rows(t, "oil", "index") {
		got, err := Index(row.Float(t, "v40"), row.Float(t, "v100"))
		row.Near(t, got, err, "index")
		if Report(got) != int(row.Float(t, "report")) {
			t.Errorf("%v reports %d", row, Report(got))
		}
	}
	if Report(116.5) != 116 || Report(117.5) != 118 { // ASTM D2270: ties to even
		t.Errorf("ties report %d and %d", Report(116.5), Report(117.5))
	}
}

func TestReferenceOils(t *testing.T) {
	for _, row := range vector.Rows(t, "oil", "references") {
		l, h := references(row.Float(t, "v100"))
		for _, c := range []struct {
			got    float64
			column string
		}{{l, "L"}, {h, "H"}} {
			if want := row.Float(t, c.column); math.Abs(c.got-want) > row.Float(t, "tolerance") {
				t.Errorf("%s at %s: %v, want %v", c.column, row["v100"], c.got, want)
			}
		}
	}
	for i := range tableL {
		if i > 0 && (tableL[i] <= tableL[i-1] || tableH[i] <= tableH[i-1] || tableAt(i) <= tableAt(i-1)) || tableL[i] <= tableH[i] {
			t.Errorf("the table falls at row %d, %v mm²/s", i, tableAt(i))
		}
	}
	if last := len(tableL) - 1; tableAt(last) != 70 || len(tableH) != len(tableL) {
		t.Errorf("the table ends at %v with %d and %d values", tableAt(last), len(tableL), len(tableH))
	}
}

func TestViscosityAtATemperature(t *testing.T) {
	for _, row := range vector.Rows(t, "oil", "temperature") {
		line, err := Through(row.Float(t, "t1"), row.Float(t, "v1"), row.Float(t, "t2"), row.Float(t, "v2"))
		if err != nil {
			t.Fatal(err)
		}
		got, err := line.At(row.Float(t, "t"))
		row.Near(t, got, err, "v")
	}
	line, err := Through(40, 32, 100, 5.4) // A and B: ASTM D341 recomputed with 273.15
	if err != nil || math.Abs(line.A-9.5308151) > 1e-7 || math.Abs(line.B-3.7465784) > 1e-7 {
		t.Errorf("%+v, %v", line, err)
	}
}

func TestBlends(t *testing.T) {
	for _, row := range vector.Rows(t, "oil", "blend") {
		var parts []Part
		for text := range strings.FieldsSeq(row["parts"]) {
			v, share, _ := strings.Cut(text, ":")
			part := vector.Row{"v": v, "share": share}
			parts = append(parts, Part{part.Float(t, "v"), part.Float(t, "share")})
		}
		got, err := Refutas.Blend(parts)
		row.Near(t, got, err, "refutas")
		got, err = Walther.Blend(parts)
		row.Near(t, got, err, "walther")
	}
	for _, row := range vector.Rows(t, "oil", "thin") {
		got, err := Refutas.Thin(row.Float(t, "thin"), row.Float(t, "thick"), row.Float(t, "want"))
		row.Near(t, got, err, "refutas")
		got, err = Walther.Thin(row.Float(t, "thin"), row.Float(t, "thick"), row.Float(t, "want"))
		row.Near(t, got, err, "walther")
	}
	// VBN of Maples 2000 recomputed; a page prints 12.492 for 2.234, which is 12.4902218.
	for v, want := range map[float64]float64{5: 19.1735709, 20: 27.1105877, 2.234: 12.4902218} {
		if got := Refutas.index(v); math.Abs(got-want) > 1e-7 {
			t.Errorf("VBN(%v) = %v, want %v", v, got, want)
		}
	}
}

func TestGrades(t *testing.T) {
	for _, row := range vector.Rows(t, "oil", "grade") {
		vg, ok := Grade(row.Float(t, "v40"))
		if got := strconv.Itoa(vg); ok && got != row["grade"] || ok == (row["grade"] == "none") {
			t.Errorf("%s: VG %d, %v; want %s", row["v40"], vg, ok, row["grade"])
		}
	}
}

func TestWhatIsNoOilIsRefusedByItsName(t *testing.T) {
	nan := math.NaN()
	fails := func(says string, _ float64, err error) {
		t.Helper()
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%v, want %q", err, says)
		}
	}
	at := func(t1, v1, t2, v2, at float64) (float64, error) {
		l, err := Through(t1, v1, t2, v2)
		if err != nil {
			return 0, err
		}
		return l.At(at)
	}
	check := func(says string) func(float64, error) {
		return func(v float64, err error) { t.Helper(); fails(says, v, err) }
	}
	check("viscosity at 100 °C 1.9")(Index(10, 1.9))
	check("viscosity at 100 °C NaN")(Index(10, nan))
	check("viscosity at 40 °C +Inf")(Index(math.Inf(1), 5))
	check("has to be above that at 100 °C")(Index(4, 5))
	check("temperature 300 °C")(at(40, 32, 100, 5.4, 300))
	check("temperature NaN")(at(nan, 32, 100, 5.4, 20))
	check("a degree apart")(at(40, 32, 40.5, 31, 20))
	check("has to be below that at 40 °C")(at(40, 32, 100, 33, 20))
	check("temperature 180 °C: the oil is thinner")(at(40, 15, 100, 3.65, 180))
	check("temperature 20 °C: the oil is thicker there than 20000000 mm²/s")(at(40, 2e7, 100, 3, 20))
	check("viscosity at 40 °C 1e+09 mm²/s: it has to lie between 2 and 20000000")(at(40, 1e9, 100, 3, 20))
	check("it takes two")(Refutas.Blend([]Part{{5, 1}}))
	check("share of oil 2")(Refutas.Blend([]Part{{5, 1}, {6, -1}}))
	check("viscosity of oil 1")(Walther.Blend([]Part{{0, 1}, {6, 1}}))
	check("one at least")(Walther.Blend([]Part{{5, 0}, {6, 0}}))
	check("can make from 7.5 to 16.1")(Walther.Thin(7.5, 16.1, 20))
	check("has to be below that of the thick one")(Walther.Thin(16.1, 7.5, 10))
}

// Warmer is thinner, and the two points come out as they went in.
func TestTemperatureProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v100 := rapid.Float64Range(2.5, 40).Draw(t, "at 100 °C")
		v40 := v100 * rapid.Float64Range(1.5, 12).Draw(t, "times thicker at 40 °C")
		line, err := Through(40, v40, 100, v100)
		if err != nil {
			t.Fatal(err)
		}
		for at, want := range map[float64]float64{40: v40, 100: v100} {
			if got, err := line.At(at); err != nil || math.Abs(got-want) > 1e-9*want {
				t.Errorf("at %v °C %v, %v; want %v", at, got, err, want)
			}
		}
		warm := rapid.Float64Range(10, 90).Draw(t, "warm")
		a, errA := line.At(warm)
		b, errB := line.At(warm + 5)
		if errA != nil || errB != nil || b >= a {
			t.Errorf("at %v °C %v, %v; five degrees on %v, %v", warm, a, errA, b, errB)
		}
	})
}

// A blend lies between its oils, does not ask for the order, and comes out of
// the share that was reckoned for it.
func TestBlendProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rule := rapid.SampledFrom([]Rule{Refutas, Walther}).Draw(t, "rule")
		thin := rapid.Float64Range(2.5, 100).Draw(t, "thin")
		thick := thin * rapid.Float64Range(1.01, 20).Draw(t, "times thicker")
		want := min(thin+(thick-thin)*rapid.Float64Range(0, 1).Draw(t, "between"), thick) // which rounding may pass
		share, err := rule.Thin(thin, thick, want)
		if err != nil || share < -1e-12 || share > 1+1e-12 {
			t.Fatalf("share %v, %v", share, err)
		}
		share = min(max(share, 0), 1)
		got, err := rule.Blend([]Part{{thin, share}, {thick, 1 - share}})
		back, errBack := rule.Blend([]Part{{thick, 1 - share}, {thin, share}})
		if err != nil || errBack != nil || math.Abs(got-want) > 1e-8*want || math.Abs(got-back) > 1e-12*got || got < thin || got > thick {
			t.Errorf("%s: %v and %v, %v, %v; want %v", rule.Name, got, back, err, errBack, want)
		}
	})
}

// A higher index is a smaller fall of viscosity with temperature.
func TestIndexFallsWithTheViscosityAt40(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v100 := rapid.Float64Range(2, 90).Draw(t, "at 100 °C")
		v40 := v100 * rapid.Float64Range(1.5, 20).Draw(t, "times")
		low, err := Index(v40*1.01, v100)
		high, err2 := Index(v40, v100)
		if err != nil || err2 != nil || low >= high {
			t.Errorf("%v mm²/s: %v, %v; thicker %v, %v", v40, high, err2, low, err)
		}
	})
}

func BenchmarkIndex(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		Index(32, 5.4)
	}
}
