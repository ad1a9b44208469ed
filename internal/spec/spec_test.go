package spec

import (
	"context"
	"errors"
	"maps"
	"slices"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/quantity"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

var sill = Model{Kind: "fork", Maker: " Halvard ", Name: "Sill", Years: "2021 to 2024", Spring: "air", Damper: "cartridge",
	SpringLeg: "left", DamperLeg: "right", Lowers: "arch front", Adjusters: []string{"rebound", "compression"}}

type desk struct {
	ctx      context.Context
	tx       pgx.Tx
	by       history.By
	model    int64
	document int64
}

func withModel(t *testing.T) desk {
	t.Helper()
	d := desk{ctx: context.Background(), tx: dbtest.Tx(t)}
	d.by = dbtest.By(t, d.tx, "mechanic")
	var err error
	if d.model, err = AddModel(d.ctx, d.tx, d.by, sill); err != nil {
		t.Fatal(err)
	}
	if d.document, err = AddDocument(d.ctx, d.tx, d.by, d.model, "Sill service manual", "3rd edition"); err != nil {
		t.Fatal(err)
	}
	return d
}

func (d desk) foot() Value {
	return Value{Key: "foot bolt", Place: "foot-left foot-right", NominalSI: 7.3, MinusSI: 0.5, PlusSI: 0.5,
		ShownUnit: quantity.NewtonMetre, SourceKind: FromDocument, DocumentID: &d.document, Page: "41"}
}

func judged(key string, si float64, unit quantity.Unit) Value {
	return Value{Key: key, NominalSI: si, ShownUnit: unit, SourceKind: FromJudgement, SourceWords: "the Ledge of 2022"}
}

func measured(key string, si float64, unit quantity.Unit) Value {
	return Value{Key: key, NominalSI: si, ShownUnit: unit, SourceKind: FromMeasuring, SourceWords: "on 3 forks"}
}

func TestAModelIsKeptAsItsMakerBuiltIt(t *testing.T) {
	d := withModel(t)
	got, err := GetModel(d.ctx, d.tx, d.model)
	if err != nil || got.Title() != "Halvard Sill" || got.SpringLeg != "left" || got.DamperLeg != "right" || got.Revision != 0 || got.TravelMM != nil {
		t.Errorf("got %+v, %v", got, err)
	}
	list, err := Models(d.ctx, d.tx)
	if err != nil || len(list) != 1 || list[0].ID != d.model {
		t.Errorf("library: %+v, %v", list, err)
	}
	var none fault.NotFound
	if _, err := GetModel(d.ctx, d.tx, d.model+1); !errors.As(err, &none) {
		t.Errorf("no such model: %v", err)
	}
}

func TestPreloadIsTurnedOnACoilOnly(t *testing.T) {
	for spring, taken := range map[string]bool{"coil": true, "air": false, "none": false} {
		m := sill
		m.Spring, m.Adjusters = spring, []string{"rebound", "preload"}
		var invalid *fault.Invalid
		switch err := m.valid(); {
		case taken && err != nil:
			t.Errorf("%s: %v", spring, err)
		case !taken && (!errors.As(err, &invalid) || invalid.Fields["adjusters"] == ""):
			t.Errorf("%s: %v, want refused at adjusters", spring, err)
		}
	}
}

func TestAModelThatCannotBeIsRefused(t *testing.T) {
	d := withModel(t)
	far := 999
	var invalid *fault.Invalid
	_, err := AddModel(d.ctx, d.tx, d.by, Model{Kind: "frame", TravelMM: &far, Spring: "steam", SpringLeg: "up", Lowers: "sideways", Adjusters: []string{"volume"}})
	if !errors.As(err, &invalid) {
		t.Fatalf("got %v", err)
	}
	want := []string{"adjusters", "damper", "kind", "lowers", "maker", "name", "spring", "spring_leg", "travel"}
	if got := slices.Sorted(maps.Keys(invalid.Fields)); !slices.Equal(got, want) {
		t.Errorf("fields refused: got %v, want %v", got, want)
	}
	var forbidden fault.Forbidden
	if _, err := AddModel(d.ctx, d.tx, dbtest.By(t, d.tx, "desk"), sill); !errors.As(err, &forbidden) {
		t.Errorf("by the desk: %v", err)
	}
	if _, err := AddModel(d.ctx, d.tx, d.by, sill); !errors.As(err, &invalid) || invalid.Fields["name"] == "" {
		t.Errorf("the same model again: %v", err)
	}
}

func TestASheetIsDraftedCheckedAndReplaced(t *testing.T) {
	d := withModel(t)
	var none fault.NotFound
	if _, err := Current(d.ctx, d.tx, d.model); !errors.As(err, &none) {
		t.Errorf("before any sheet: %v", err)
	}
	first, err := DraftSheet(d.ctx, d.tx, d.by, d.model, []Value{d.foot()})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Current(d.ctx, d.tx, d.model); !errors.As(err, &none) {
		t.Errorf("a draft is in force: %v", err)
	}
	other := dbtest.By(t, d.tx, "owner")
	var conflict fault.Conflict
	if err := CheckSheet(d.ctx, d.tx, d.by, first); !errors.As(err, &conflict) {
		t.Errorf("the drafter checks his own sheet: %v", err)
	}
	if err := CheckSheet(d.ctx, d.tx, other, first); err != nil {
		t.Fatal(err)
	}
	if err := CheckSheet(d.ctx, d.tx, other, first); !errors.As(err, &conflict) {
		t.Errorf("checked twice: %v", err)
	}
	changed := d.foot()
	changed.NominalSI = 7
	second, err := DraftSheet(d.ctx, d.tx, d.by, d.model, []Value{changed})
	if err != nil {
		t.Fatal(err)
	}
	if err := CheckSheet(d.ctx, d.tx, other, second); err != nil {
		t.Fatal(err)
	}
	now, err := Current(d.ctx, d.tx, d.model)
	if err != nil || now.ID != second || now.Revision != 2 || now.Alone || now.CheckedBy == "" || now.Values[0].NominalSI != 7 {
		t.Errorf("in force: %+v, %v", now, err)
	}
	before, err := GetSheet(d.ctx, d.tx, first)
	if err != nil || before.State != "past" || before.Values[0].NominalSI != 7.3 {
		t.Errorf("replaced: %+v, %v", before, err)
	}
	if m, err := GetModel(d.ctx, d.tx, d.model); err != nil || m.Revision != 2 {
		t.Errorf("model %+v, %v", m, err)
	}
}

func TestWhoWorksAloneChecksAloneAndItShows(t *testing.T) {
	d := withModel(t)
	dbtest.By(t, d.tx, "desk") // the front desk is no second pair of eyes for a torque
	id, err := DraftSheet(d.ctx, d.tx, d.by, d.model, []Value{d.foot()})
	if err != nil {
		t.Fatal(err)
	}
	if err := CheckSheet(d.ctx, d.tx, d.by, id); err != nil {
		t.Fatal(err)
	}
	if s, err := Current(d.ctx, d.tx, d.model); err != nil || !s.Alone || s.CheckedBy != s.DraftedBy {
		t.Errorf("got %+v, %v", s, err)
	}
}

func TestValuesThatCannotStandAreRefused(t *testing.T) {
	d := withModel(t)
	foreign := int64(1 << 40)
	with := func(change func(*Value)) Value { v := d.foot(); change(&v); return v }
	cases := []struct {
		name  string
		value Value
		field string // "" is taken
	}{
		{"as it should be", d.foot(), ""},
		{"unknown key", with(func(v *Value) { v.Key = "ball joint" }), "value0.key"},
		{"no place of the drawing", with(func(v *Value) { v.Place = "foot-middle" }), "value0.place"},
		{"torque in bar", with(func(v *Value) { v.ShownUnit = quantity.Bar }), "value0.unit"},
		{"below zero", with(func(v *Value) { v.NominalSI, v.MinusSI = -1, 0 }), "value0.nominal"},
		{"asked back", with(func(v *Value) { v.NominalSI = 73 }), "value0.sure"},
		{"asked back and sure", with(func(v *Value) { v.NominalSI, v.Sure = 73, true }), ""},
		{"window asked back", with(func(v *Value) { v.PlusSI = 70 }), "value0.sure"},
		{"window asked back and sure", with(func(v *Value) { v.PlusSI, v.Sure = 70, true }), ""},
		{"window below zero", with(func(v *Value) { v.MinusSI, v.Sure = 8, true }), "value0.window"},
		{"document of nobody", with(func(v *Value) { v.DocumentID = &foreign }), "value0.document"},
		{"no document", with(func(v *Value) { v.DocumentID = nil }), "value0.document"},
		{"no source", with(func(v *Value) { v.SourceKind = "" }), "value0.source"},
		{"measured with a document", with(func(v *Value) {
			v.Key, v.NominalSI, v.MinusSI, v.PlusSI, v.ShownUnit, v.SourceKind = "travel", 0.14, 0, 0, quantity.Millimetre, FromMeasuring
		}), "value0.document"},
		{"judgement without comparison", with(func(v *Value) { v.SourceKind, v.DocumentID = FromJudgement, nil }), "value0.words"},
		{"judged foot bolt", judged("foot bolt", 7, quantity.NewtonMetre), ""},
		// What to tighten to, or never to go over, is read nowhere on the unit.
		{"measured foot bolt", measured("foot bolt", 7, quantity.NewtonMetre), "value0.source"},
		{"measured stem", measured("stem", 5, quantity.NewtonMetre), "value0.source"},
		{"measured maximum pressure", measured("maximum pressure", 1e6, quantity.PSI), "value0.source"},
		{"measured travel", measured("travel", 0.14, quantity.Millimetre), ""},
		// Common practice (no source): a life hangs on these.
		{"judged stem", judged("stem", 5, quantity.NewtonMetre), "value0.source"},
		{"judged axle", judged("axle", 12, quantity.NewtonMetre), "value0.source"},
		{"judged axle pinch", judged("axle pinch", 5, quantity.NewtonMetre), "value0.source"},
		{"judged crown pinch", judged("crown pinch", 7, quantity.NewtonMetre), "value0.source"},
		{"judged maximum pressure", judged("maximum pressure", 1e6, quantity.PSI), "value0.source"},
	}
	for _, c := range cases {
		id, err := DraftSheet(d.ctx, d.tx, d.by, d.model, []Value{c.value})
		if err == nil {
			err = DropDraft(d.ctx, d.tx, d.by, id, 1)
		}
		var invalid *fault.Invalid
		switch {
		case c.field == "" && err != nil:
			t.Errorf("%s: %v", c.name, err)
		case c.field != "" && (!errors.As(err, &invalid) || invalid.Fields[c.field] == "" || len(invalid.Fields) != 1):
			t.Errorf("%s: got %v, want a sentence at %s alone", c.name, err, c.field)
		}
	}
	var invalid *fault.Invalid
	if _, err := DraftSheet(d.ctx, d.tx, d.by, d.model, nil); !errors.As(err, &invalid) {
		t.Errorf("no values: %v", err)
	}
	if _, err := DraftSheet(d.ctx, d.tx, d.by, d.model, []Value{d.foot(), d.foot()}); !errors.As(err, &invalid) || invalid.Fields["value1.key"] == "" {
		t.Errorf("one value twice: %v", err)
	}
}

func TestEveryValueSaysItsSource(t *testing.T) {
	d := withModel(t)
	id, err := DraftSheet(d.ctx, d.tx, d.by, d.model, []Value{d.foot(), measured("lower-leg oil", 10e-6, quantity.Millilitre), judged("knob screw", 1.1, quantity.NewtonMetre)})
	if err != nil {
		t.Fatal(err)
	}
	s, err := GetSheet(d.ctx, d.tx, id)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"Sill service manual, 3rd edition, page 41",
		"measured by " + s.DraftedBy + ", on 3 forks",
		"own judgement of " + s.DraftedBy + ", by comparison with the Ledge of 2022",
	}
	for i, v := range s.Values {
		if got := v.Source(); got != want[i] {
			t.Errorf("source of %s: got %q, want %q", v.Key, got, want[i])
		}
	}
}

// 7.3 N·m is 64.6 lbf·in, 145 psi is 9.997 bar: factors of NIST SP 811,
// appendix B.8.
func TestValuesShowWindowAndOtherUnit(t *testing.T) {
	foot := Value{Key: "foot bolt", NominalSI: 7.3, MinusSI: 0.5, PlusSI: 0.5, ShownUnit: quantity.NewtonMetre}
	top := Value{Key: "maximum pressure", NominalSI: 145 * 6894.757293168361, ShownUnit: quantity.PSI}
	oil := Value{Key: "lower-leg oil", NominalSI: 10e-6, ShownUnit: quantity.Millilitre}
	for _, c := range []struct {
		value               Value
		show, window, other string
	}{
		{foot, "7.3 N·m", "6.8 to 7.8", "65 lbf·in"},
		{top, "145 psi", "not over", "10 bar"},
		{oil, "10 mL", "", ""},
		{Value{Key: "sag", NominalSI: 0.18, MinusSI: 0.03, PlusSI: 0.02, ShownUnit: Percent}, "18 %", "15 to 20", ""},
		{Value{Key: "rebound range", NominalSI: 17, MinusSI: 1, PlusSI: 1}, "17", "16 to 18", ""},
	} {
		show, window, other := plain(c.value.Show()), plain(c.value.Window()), plain(c.value.Other())
		if show != c.show || window != c.window || other != c.other {
			t.Errorf("%s: got %q, %q, %q; want %q, %q, %q", c.value.Key, show, window, other, c.show, c.window, c.other)
		}
	}
}

func TestASheetAnswersForALeg(t *testing.T) {
	at := func(place string, si float64) Value { return Value{Key: "lower-leg oil", Place: place, NominalSI: si} }
	both := Sheet{Values: []Value{{Key: "foot bolt", Place: "foot-left foot-right", NominalSI: 7}, at("", 1), at("foot-left", 2)}}
	for _, c := range []struct {
		key, place string
		want       float64 // 0: none
	}{
		{"lower-leg oil", "foot-left", 2},
		{"lower-leg oil", "foot-right", 1},
		{"foot bolt", "foot-right", 7},
		{"foot bolt", "foot-left foot-right", 7},
		{"foot bolt", "top-left", 0},
		{"foot bolt", "", 0},
		{"stem", "", 0},
	} {
		v, ok := both.Value(c.key, c.place)
		if ok != (c.want != 0) || v.NominalSI != c.want {
			t.Errorf("%s at %q: got %g, %v; want %g", c.key, c.place, v.NominalSI, ok, c.want)
		}
	}
}
