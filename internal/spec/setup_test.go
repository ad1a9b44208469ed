package spec

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/quantity"
	"damperdesk/internal/vector"
)

const psi = 6894.757293168361 // Pa, NIST SP 811, appendix B.8

// printed is an invented chart as booklets print them: mass in kg, pressure in
// psi, clicks from closed, spacers.
func printed(rows ...[5]float64) Setup {
	s := Setup{Unit: quantity.PSI, From: Value{SourceKind: FromMeasuring, SourceWords: "on 3 forks"}}
	for _, r := range rows {
		pa, rebound, compression, spacers := r[1]*psi, int(r[2]), int(r[3]), int(r[4])
		s.Rows = append(s.Rows, SetupRow{RiderKG: r[0], PressurePa: &pa, Rebound: &rebound, Compression: &compression, Spacers: &spacers})
	}
	return s
}

var booklet = [][5]float64{{55, 62, 10, 9, 1}, {65, 72, 9, 8, 1}, {75, 84, 7, 8, 2}, {85, 95, 6, 6, 2}, {95, 107, 5, 5, 3}}

func TestBetweenTheRowsLikeNumpy(t *testing.T) {
	for _, r := range vector.Rows(t, "setup", "between") {
		var s Setup
		column := strings.Fields(r["column"])
		for i, text := range strings.Fields(r["mass"]) {
			var kg, y float64
			if _, err := fmt.Sscan(text+" "+column[i], &kg, &y); err != nil {
				t.Fatal(err)
			}
			s.Rows = append(s.Rows, SetupRow{RiderKG: kg, PressurePa: &y})
		}
		y, ok := s.between(r.Float(t, "at"), func(row SetupRow) *float64 { return row.PressurePa })
		if !ok {
			t.Errorf("nothing at %s of %s", r["at"], r["mass"])
		}
		r.Near(t, y, nil, "want")
	}
}

func TestAChartIsReadInWholesAndNeverBeyondItsEnds(t *testing.T) {
	s := printed(booklet...)
	for _, c := range []struct {
		kg, most                      float64 // most in psi
		psi                           float64
		rebound, compression, spacers int
	}{
		{55, 0, 62, 10, 9, 1}, {95, 0, 107, 5, 5, 3},
		{82, 0, 92, 6, 7, 2},  // by hand: 84 + 0.7·11 = 91.7; 6.3; 6.6; 2
		{70, 0, 78, 8, 8, 2},  // 78; 8; 8; 1.5 goes up
		{82, 90, 90, 6, 7, 2}, // not above the maximum
		{82, 90.4, 90, 6, 7, 2},
	} {
		got, err := s.At(c.kg, c.most*psi)
		if err != nil || math.Abs(*got.PressurePa/psi-c.psi) > 1e-6 || *got.Rebound != c.rebound || *got.Compression != c.compression || *got.Spacers != c.spacers {
			t.Errorf("%g kg, at most %g psi: %g psi, %d, %d, %d (%v), want %+v", c.kg, c.most, *got.PressurePa/psi, *got.Rebound, *got.Compression, *got.Spacers, err, c)
		}
	}
	bar := s
	bar.Unit = quantity.Bar
	if got, _ := bar.At(82, 0); math.Abs(*got.PressurePa-6.3e5) > 1 { // 91.7 psi are 6.322 bar, a gauge shows steps of 0.05
		t.Errorf("in bar: %g Pa", *got.PressurePa)
	}
	for kg, want := range map[float64]string{54.9: "the chart begins at 55 kg", 95.1: "the chart ends at 95 kg", 300: "the chart ends at 95 kg"} {
		var ends Ends
		if got, err := s.At(kg, 0); !errors.As(err, &ends) || err.Error() != want || got.PressurePa != nil {
			t.Errorf("%g kg: %+v, %v, want %q", kg, got, err, want)
		}
	}
	if _, err := (Setup{}).At(80, 0); err == nil {
		t.Error("no chart answers")
	}
	for i := range s.Rows {
		s.Rows[i].Rebound = nil
	}
	if got, err := s.At(80, 0); err != nil || got.Rebound != nil || got.PressurePa == nil {
		t.Errorf("without a column: %+v, %v", got, err)
	}
}

// Heavier riders take more air and more damping: common practice (no source).
func TestWhatAChartMayNotBeAndWhatIsAskedBack(t *testing.T) {
	coil := sill
	coil.Spring = "coil"
	limited := Sheet{Values: []Value{{Key: "maximum pressure", NominalSI: 100 * psi, ShownUnit: quantity.PSI}}}
	with := func(change func(s *Setup)) Setup {
		s := printed(booklet...)
		change(&s)
		return s
	}
	for _, c := range []struct {
		name  string
		s     Setup
		m     Model
		sheet Sheet
		want  []string
	}{
		{"as printed", printed(booklet...), sill, Sheet{}, nil},
		{"one row", printed(booklet[0]), sill, Sheet{}, []string{"rows"}},
		{"above the maximum", printed(booklet...), sill, limited, []string{"row4.pressure"}},
		{"a coil", printed(booklet[:2]...), coil, Sheet{}, []string{"row0.pressure", "row0.spacers", "row1.pressure", "row1.spacers"}},
		{"twice", printed(booklet[0], booklet[0]), sill, Sheet{}, []string{"row1.kg"}},
		{"a gap", with(func(s *Setup) { s.Rows[2].Rebound = nil }), sill, Sheet{}, []string{"row2.rebound"}},
		{"no column", Setup{Rows: []SetupRow{{RiderKG: 60}, {RiderKG: 80}}, Unit: quantity.PSI, From: printed().From}, sill, Sheet{}, []string{"rows"}},
		{"less air", printed([5]float64{60, 80, 9, 9, 1}, [5]float64{80, 70, 8, 8, 1}), sill, Sheet{}, []string{"sure"}},
		{"less rebound", printed([5]float64{60, 70, 9, 9, 1}, [5]float64{80, 80, 10, 8, 1}), sill, Sheet{}, []string{"sure"}},
		{"less compression", printed([5]float64{60, 70, 9, 9, 1}, [5]float64{80, 80, 9, 10, 1}), sill, Sheet{}, []string{"sure"}},
		{"as much", printed([5]float64{60, 70, 9, 9, 1}, [5]float64{80, 70, 9, 9, 1}), sill, Sheet{}, nil},
		{"strange air", printed([5]float64{60, 70, 9, 9, 1}, [5]float64{80, 700, 9, 9, 1}), sill, Sheet{}, []string{"sure"}},
		{"a child", printed([5]float64{15, 30, 9, 9, 1}, [5]float64{80, 70, 9, 9, 1}), sill, Sheet{}, []string{"sure"}},
		{"meant", with(func(s *Setup) { s.Rows[4].PressurePa, s.Sure = s.Rows[0].PressurePa, true }), sill, Sheet{}, nil},
		{"from nowhere", with(func(s *Setup) { s.From = Value{} }), sill, Sheet{}, []string{"source"}},
		{"words without end", with(func(s *Setup) { s.From.SourceWords = strings.Repeat("x", 201) }), sill, Sheet{}, []string{"words"}},
		{"a page without end", with(func(s *Setup) { s.From.Page = strings.Repeat("8", 201) }), sill, Sheet{}, []string{"page"}},
		{"compared with nothing", with(func(s *Setup) { s.From = Value{SourceKind: FromJudgement} }), sill, Sheet{}, []string{"words"}},
	} {
		if got := slices.Sorted(maps.Keys(c.s.faults(c.sheet, c.m, nil))); !slices.Equal(got, c.want) {
			t.Errorf("%s: refused %v, want %v", c.name, got, c.want)
		}
	}
}

func TestAChartIsDraftedFrozenAndComparedAsValuesAre(t *testing.T) {
	d := withModel(t)
	first, err := DraftSheet(d.ctx, d.tx, d.by, d.model, []Value{d.foot()})
	if err != nil {
		t.Fatal(err)
	}
	if err := PutSetup(d.ctx, d.tx, d.by, first, 1, printed(booklet[1], booklet[0])); err != nil {
		t.Fatal(err)
	}
	draft, err := GetSheet(d.ctx, d.tx, first)
	if err != nil || len(draft.Setup.Rows) != 2 || draft.Setup.Rows[0].RiderKG != 55 || draft.Setup.From.By == "" || draft.Version != 2 {
		t.Fatalf("on the draft: %+v, %v", draft.Setup, err)
	}
	other := dbtest.By(t, d.tx, "owner")
	if err := CheckSheet(d.ctx, d.tx, other, first); err != nil {
		t.Fatal(err)
	}
	var conflict fault.Conflict
	if err := PutSetup(d.ctx, d.tx, d.by, first, 2, Setup{}); !errors.As(err, &conflict) {
		t.Errorf("off a sheet in force: %v", err)
	}
	second, err := BeginDraft(d.ctx, d.tx, dbtest.Act(t, d.tx, d.by), d.model, true)
	if err != nil {
		t.Fatal(err)
	}
	changed := printed(booklet[0], booklet[2])
	*changed.Rows[0].Rebound = 11
	if err := PutSetup(d.ctx, d.tx, d.by, second, 1, changed); err != nil {
		t.Fatal(err)
	}
	before, _ := GetSheet(d.ctx, d.tx, first)
	after, _ := GetSheet(d.ctx, d.tx, second)
	var got []string
	for _, diff := range Differences(before, after) {
		got = append(got, diff.ID())
	}
	if want := []string{"set-up chart@55", "set-up chart@65", "set-up chart@75"}; !slices.Equal(got, want) {
		t.Errorf("differences %v, want %v", got, want)
	}
	if _, err := d.tx.Exec(d.ctx, "savepoint s; update setup_row set rebound = 1 where sheet_id = $1", first); err == nil {
		t.Error("the chart of a sheet in force can be changed")
	}
}
