package spec

import (
	"errors"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/quantity"
)

// unit puts a unit of the model on record.
func (d desk) unit(t *testing.T) int64 {
	t.Helper()
	rows, err := d.tx.Query(d.ctx, `with c as (insert into customer (name, name_key) values ('Mirela Anttonen', 'mirela anttonen') returning id)
		insert into unit (kind, customer_id, model_id) select 'fork', id, $1 from c returning id`, d.model)
	if err != nil {
		t.Fatal(err)
	}
	id, err := pgx.CollectExactlyOneRow(rows, pgx.RowTo[int64])
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func ptr[T any](v T) *T { return &v }

func TestTheNewestOfAUnitsInsideCounts(t *testing.T) {
	d := withModel(t)
	unit := d.unit(t)
	in, err := InsideOf(d.ctx, d.tx, unit)
	if err != nil || in.ID != 0 || in.Any() {
		t.Fatalf("of nothing said: %+v, %v", in, err)
	}
	first := Inside{Spring: "coil", RateNM: ptr(7000.0), RateUnit: quantity.NewtonPerMillimetre, Notes: " coil kit, spacer filed "}
	if err := PutInside(d.ctx, d.tx, d.by, unit, 0, first); err != nil {
		t.Fatal(err)
	}
	var conflict fault.Conflict
	if err := PutInside(d.ctx, d.tx, d.by, unit, 0, Inside{Spring: "air"}); !errors.As(err, &conflict) {
		t.Errorf("over somebody else's: %v", err)
	}
	if in, err = InsideOf(d.ctx, d.tx, unit); err != nil || in.Spring != "coil" || *in.RateNM != 7000 || in.Notes != "coil kit, spacer filed" || in.By == "" {
		t.Fatalf("got %+v, %v", in, err)
	}
	if m := in.On(sill); m.Spring != "coil" || m.Damper != "cartridge" {
		t.Errorf("the model as built: %+v", m)
	}
	if err := PutInside(d.ctx, d.tx, d.by, unit, in.ID, Inside{TravelMM: ptr(120), Spacers: ptr(3)}); err != nil {
		t.Fatal(err)
	}
	if in, err = InsideOf(d.ctx, d.tx, unit); err != nil || in.Spring != "" || in.RateNM != nil || *in.TravelMM != 120 {
		t.Errorf("the second: %+v, %v", in, err)
	}
	if _, err := d.tx.Exec(d.ctx, "savepoint s; update unit_inside set notes = ''"); err == nil {
		t.Error("what was noted can be rewritten")
	}
}

func TestAnInsideThatCannotBeIsRefused(t *testing.T) {
	d := withModel(t)
	unit := d.unit(t)
	for _, c := range []struct {
		in   Inside
		want []string
	}{
		{Inside{Spring: "steam", Damper: "rubber", TravelMM: ptr(0), RateNM: ptr(7.0), Spacers: ptr(21)}, []string{"damper", "rate", "spacers", "spring", "travel"}},
		{Inside{Spring: "air", RateNM: ptr(7000.0)}, []string{"rate"}},
		{Inside{Spring: "coil", Spacers: ptr(1)}, []string{"spacers"}},
	} {
		var invalid *fault.Invalid
		if err := PutInside(d.ctx, d.tx, d.by, unit, 0, c.in); !errors.As(err, &invalid) || !slices.Equal(slices.Sorted(maps.Keys(invalid.Fields)), c.want) {
			t.Errorf("%+v: %v, want refused %v", c.in, err, c.want)
		}
	}
	var forbidden fault.Forbidden
	if err := PutInside(d.ctx, d.tx, dbtest.By(t, d.tx, "desk"), unit, 0, Inside{}); !errors.As(err, &forbidden) {
		t.Errorf("by the desk: %v", err)
	}
}

// Where a wrong value hurts people, judgement never serves: common practice (no
// source).
func TestAUnitsOwnValueSaysWhereItComesFrom(t *testing.T) {
	d := withModel(t)
	unit := d.unit(t)
	val := func(key, kind, words string, si float64, unit quantity.Unit) Value {
		return Value{Key: key, NominalSI: si, ShownUnit: unit, SourceKind: kind, SourceWords: words}
	}
	for _, c := range []struct {
		v    Value
		want []string
	}{
		{val("foot bolt", "", "", 7, quantity.NewtonMetre), []string{"source"}},
		{val("foot bolt", FromDocument, " ", 7, quantity.NewtonMetre), []string{"words"}},
		{val("foot bolt", FromMeasuring, "", 7, quantity.NewtonMetre), []string{"source"}},
		{val("foot bolt", FromJudgement, "", 7, quantity.NewtonMetre), []string{"words"}},
		{val("foot bolt", FromDocument, "rebuild letter", 70, quantity.NewtonMetre), []string{"sure"}},
		{val("foot bolt", FromJudgement, strings.Repeat("x", 201), 7, quantity.NewtonMetre), []string{"words"}},
		{val("stem", FromJudgement, "the Ledge", 5, quantity.NewtonMetre), []string{"source"}},
		{val("axle", FromJudgement, "the Ledge", 12, quantity.NewtonMetre), []string{"source"}},
		{val("crown pinch", FromJudgement, "the Ledge", 7, quantity.NewtonMetre), []string{"source"}},
		{val("maximum pressure", FromJudgement, "the Ledge", 1e6, quantity.PSI), []string{"source"}},
		{val("maximum pressure", FromMeasuring, "on 3 forks", 1e6, quantity.PSI), []string{"source"}},
		{val("lower-leg oil", FromMeasuring, "", 10e-6, quantity.Millilitre), []string{"fluid"}},
	} {
		var invalid *fault.Invalid
		if err := PutUnitValue(d.ctx, d.tx, d.by, unit, sill, c.v); !errors.As(err, &invalid) || !slices.Equal(slices.Sorted(maps.Keys(invalid.Fields)), c.want) {
			t.Errorf("%s from %q: %v, want refused %v", c.v.Key, c.v.SourceKind, err, c.want)
		}
	}
	if in, err := InsideOf(d.ctx, d.tx, unit); err != nil || len(in.Values) != 0 {
		t.Errorf("stored all the same: %+v, %v", in.Values, err)
	}
}

func TestAUnitsOwnValuesStandInPlaceOfTheSheets(t *testing.T) {
	d := withModel(t)
	unit := d.unit(t)
	own := func(place string, si float64) {
		t.Helper()
		v := Value{Key: "lower-leg oil", Place: place, NominalSI: si, ShownUnit: quantity.Millilitre, Fluid: "bath oil", SourceKind: FromJudgement, SourceWords: "the Ledge"}
		if err := PutUnitValue(d.ctx, d.tx, dbtest.Act(t, d.tx, d.by), unit, sill, v); err != nil {
			t.Fatal(err)
		}
	}
	read := func() Inside {
		t.Helper()
		in, err := InsideOf(d.ctx, d.tx, unit)
		if err != nil {
			t.Fatal(err)
		}
		return in
	}
	both := "foot-left foot-right"
	sheet := Sheet{Values: []Value{
		{ID: 1, Key: "lower-leg oil", Place: "foot-left", NominalSI: 10e-6}, {ID: 2, Key: "lower-leg oil", Place: "foot-right", NominalSI: 12e-6},
		{ID: 3, Key: "foot bolt", Place: both, NominalSI: 7.3}, {ID: 4, Key: "travel", NominalSI: 0.15, MinusSI: 0.002, PlusSI: 0.002},
	}}
	at := func(s Sheet, key, place string, want float64, source string) {
		t.Helper()
		v, _ := s.Value(key, place)
		if v.NominalSI != want || source != "" && v.Source() != source {
			t.Errorf("%s at %q is %g by %q, want %g by %q", key, place, v.NominalSI, v.Source(), want, source)
		}
	}
	own("foot-left", 20e-6)
	own("foot-left", 15e-6)
	s := read().Over(sheet, "fork")
	name := read().Values[0].By
	at(s, "lower-leg oil", "foot-left", 15e-6, "this fork: own judgement of "+name+", by comparison with the Ledge")
	at(s, "lower-leg oil", "foot-right", 12e-6, "")
	at(s, "foot bolt", "foot-left", 7.3, "")
	at(sheet, "lower-leg oil", "foot-left", 10e-6, "")

	own(both, 30e-6)
	s = read().Over(sheet, "fork")
	at(s, "lower-leg oil", "foot-right", 30e-6, "")

	if err := PutInside(d.ctx, d.tx, d.by, unit, 0, Inside{TravelMM: ptr(120)}); err != nil {
		t.Fatal(err)
	}
	s = read().Over(sheet, "fork")
	at(s, "travel", "", 0.12, "this fork: as built, noted by "+name)
	if v, _ := s.Value("travel", ""); v.MinusSI != 0.002 {
		t.Errorf("the window of the travel went: %+v", v)
	}
	for _, v := range read().Values {
		if err := RemoveUnitValue(d.ctx, d.tx, dbtest.Act(t, d.tx, d.by), unit, v.ID); err != nil {
			t.Fatal(err)
		}
		var conflict fault.Conflict
		if err := RemoveUnitValue(d.ctx, d.tx, dbtest.Act(t, d.tx, d.by), unit, v.ID); !errors.As(err, &conflict) {
			t.Errorf("taken back twice: %v", err)
		}
	}
	s = read().Over(sheet, "fork")
	at(s, "lower-leg oil", "foot-left", 10e-6, "")
	at(s, "lower-leg oil", "foot-right", 12e-6, "")
}
