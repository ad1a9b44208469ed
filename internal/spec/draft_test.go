package spec

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/quantity"
)

func (d desk) put(by history.By, sheet int64, version int, value int64, v Value) error {
	return PutValue(d.ctx, d.tx, by, sheet, version, value, v)
}

func (d desk) sheet(t *testing.T, id int64) Sheet {
	t.Helper()
	s, err := GetSheet(d.ctx, d.tx, id)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// inForce is a sheet of one value that somebody else checked.
func (d desk) inForce(t *testing.T) int64 {
	t.Helper()
	id, err := DraftSheet(d.ctx, d.tx, d.by, d.model, []Value{d.foot()})
	if err == nil {
		err = CheckSheet(d.ctx, d.tx, dbtest.By(t, d.tx, "owner"), id)
	}
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func TestADraftIsWrittenValueByValue(t *testing.T) {
	d := withModel(t)
	id, err := BeginDraft(d.ctx, d.tx, d.by, d.model, true) // from nothing, as nothing is in force
	if err != nil {
		t.Fatal(err)
	}
	if err := d.put(d.by, id, 1, 0, d.foot()); err != nil {
		t.Fatal(err)
	}
	oil := Value{Key: "lower-leg oil", Place: "foot-left", NominalSI: 10e-6, ShownUnit: quantity.Millilitre, Entered: "10 mL", SourceKind: FromMeasuring}
	var (
		invalid  *fault.Invalid
		conflict fault.Conflict
		none     fault.NotFound
	)
	if err := d.put(d.by, id, 2, 0, oil); !errors.As(err, &invalid) || invalid.Fields["fluid"] == "" {
		t.Errorf("an amount without its fluid: %v", err)
	}
	oil.Fluid = "bath oil"
	if err := d.put(d.by, id, 1, 0, oil); !errors.As(err, &conflict) {
		t.Errorf("over an older version: %v", err)
	}
	if err := d.put(d.by, id, 2, 0, oil); err != nil {
		t.Fatal(err)
	}
	if err := d.put(d.by, id, 3, 0, oil); !errors.As(err, &invalid) || invalid.Fields["place"] == "" {
		t.Errorf("one value twice: %v", err)
	}
	s := d.sheet(t, id)
	foot := d.foot()
	foot.NominalSI = 73
	if err := d.put(d.by, id, 3, s.Values[0].ID, foot); !errors.As(err, &invalid) || !strings.HasPrefix(invalid.Fields["sure"], "Really 73") {
		t.Errorf("an unusual value: %v", err)
	}
	foot.Sure = true
	if err := d.put(d.by, id, 3, s.Values[0].ID, foot); err != nil {
		t.Fatal(err)
	}
	foot.Sure, foot.Page = false, "42"
	if err := d.put(d.by, id, 4, s.Values[0].ID, foot); err != nil {
		t.Errorf("the same figures are asked back again: %v", err)
	}
	if err := RemoveValue(d.ctx, d.tx, d.by, id, 5, s.Values[1].ID); err != nil {
		t.Fatal(err)
	}
	if err := RemoveValue(d.ctx, d.tx, d.by, id, 6, s.Values[1].ID); !errors.As(err, &none) {
		t.Errorf("removed twice: %v", err)
	}
	if s = d.sheet(t, id); len(s.Values) != 1 || s.Values[0].NominalSI != 73 || s.Values[0].Page != "42" || s.Version != 6 {
		t.Errorf("the draft holds %+v", s)
	}
	if m, err := GetModel(d.ctx, d.tx, d.model); err != nil || m.Draft != 1 || m.Revision != 0 {
		t.Errorf("model %+v, %v", m, err)
	}
	if _, err := BeginDraft(d.ctx, d.tx, d.by, d.model, false); !errors.As(err, &conflict) {
		t.Errorf("a second draft: %v", err)
	}
}

func TestADraftBeginsWithWhatIsInForceAndItsAuthors(t *testing.T) {
	d := withModel(t)
	d.inForce(t)
	other := dbtest.By(t, d.tx, "mechanic")
	id, err := BeginDraft(d.ctx, d.tx, other, d.model, true)
	if err != nil {
		t.Fatal(err)
	}
	now, err := Current(d.ctx, d.tx, d.model)
	if err != nil {
		t.Fatal(err)
	}
	s := d.sheet(t, id)
	if s.Revision != 2 || len(s.Values) != 1 || s.Values[0].By != now.Values[0].By || len(Differences(now, s)) != 0 {
		t.Errorf("begins with %+v", s)
	}
	if err := DropDraft(d.ctx, d.tx, other, id, 1); err != nil {
		t.Fatal(err)
	}
	if _, err := Draft(d.ctx, d.tx, d.model); !errors.As(err, new(fault.NotFound)) {
		t.Errorf("after it is dropped: %v", err)
	}
	if id, err = BeginDraft(d.ctx, d.tx, other, d.model, false); err != nil || len(d.sheet(t, id).Values) != 0 {
		t.Errorf("an empty draft: %v", err)
	}
}

// Whoever wrote in a draft, and not only who began it, is no second person.
func TestADraftIsCheckedByWhoWroteNothingInIt(t *testing.T) {
	d := withModel(t)
	d.inForce(t)
	helper, checker := dbtest.By(t, d.tx, "mechanic"), dbtest.By(t, d.tx, "owner")
	id, err := BeginDraft(d.ctx, d.tx, d.by, d.model, true)
	if err != nil {
		t.Fatal(err)
	}
	var (
		conflict fault.Conflict
		invalid  *fault.Invalid
	)
	if err := CheckDraft(d.ctx, d.tx, checker, id, 1, nil); !errors.As(err, &conflict) || !strings.Contains(conflict.Error(), "nothing to check") {
		t.Errorf("a draft that changes nothing: %v", err)
	}
	knob := judged("knob screw", 1.1, quantity.NewtonMetre)
	if err := d.put(helper, id, 1, 0, knob); err != nil {
		t.Fatal(err)
	}
	compared := []string{"knob screw@"}
	for name, who := range map[string]history.By{"who began it": d.by, "who wrote in it": helper} {
		if err := CheckDraft(d.ctx, d.tx, who, id, 2, compared); !errors.As(err, &conflict) {
			t.Errorf("checked by %s: %v", name, err)
		}
	}
	if err := CheckDraft(d.ctx, d.tx, checker, id, 1, compared); !errors.As(err, &conflict) {
		t.Errorf("checked as it was before: %v", err)
	}
	if err := CheckDraft(d.ctx, d.tx, checker, id, 2, []string{"foot bolt@"}); !errors.As(err, &invalid) || invalid.Fields["compared"] == "" {
		t.Errorf("a line is not compared: %v", err)
	}
	if err := CheckDraft(d.ctx, d.tx, checker, id, 2, compared); err != nil {
		t.Fatal(err)
	}
	if s := d.sheet(t, id); s.State != "current" || s.Alone || s.CheckedAt == nil || !s.CheckedAt.Equal(checker.At) {
		t.Errorf("checked: %+v", s)
	}
	if names, err := Editors(d.ctx, d.tx, id); err != nil || len(names) != 2 {
		t.Errorf("written by %q, %v", names, err)
	}
	revisions, err := Revisions(d.ctx, d.tx, d.model)
	if err != nil || len(revisions) != 2 || revisions[0].State != "current" || revisions[1].State != "past" {
		t.Errorf("revisions: %+v, %v", revisions, err)
	}
	if past, err := Revision(d.ctx, d.tx, d.model, 1); err != nil || past.State != "past" || len(past.Values) != 1 {
		t.Errorf("the old one: %+v, %v", past, err)
	}
	if err := d.put(d.by, id, 2, 0, d.foot()); !errors.As(err, &conflict) {
		t.Errorf("a value onto a checked sheet: %v", err)
	}
}

func TestWhoWorksAloneReadsADraftBack(t *testing.T) {
	d := withModel(t)
	id, err := BeginDraft(d.ctx, d.tx, d.by, d.model, false)
	if err == nil {
		err = d.put(d.by, id, 1, 0, d.foot())
	}
	if err == nil {
		err = CheckDraft(d.ctx, d.tx, d.by, id, 2, []string{"foot bolt@foot-left foot-right"})
	}
	if err != nil {
		t.Fatal(err)
	}
	if s := d.sheet(t, id); !s.Alone || s.State != "current" {
		t.Errorf("read back: %+v", s)
	}
}

func TestTheDeskWritesNoDraft(t *testing.T) {
	d := withModel(t)
	front := dbtest.By(t, d.tx, "desk")
	id, err := BeginDraft(d.ctx, d.tx, d.by, d.model, false)
	if err != nil {
		t.Fatal(err)
	}
	_, begun := BeginDraft(d.ctx, d.tx, front, d.model, false)
	for name, err := range map[string]error{
		"begins one": begun, "puts a value": d.put(front, id, 1, 0, d.foot()), "removes a value": RemoveValue(d.ctx, d.tx, front, id, 1, 1),
		"drops it": DropDraft(d.ctx, d.tx, front, id, 1), "checks it": CheckDraft(d.ctx, d.tx, front, id, 1, nil),
		"changes the model":  ChangeModel(d.ctx, d.tx, front, d.model, 1, sill),
		"removes a document": RemoveDocument(d.ctx, d.tx, front, d.model, d.document),
	} {
		if !errors.As(err, new(fault.Forbidden)) {
			t.Errorf("the desk %s: %v", name, err)
		}
	}
}

func TestWhatTwoRevisionsDoNotHaveAlike(t *testing.T) {
	at := func(key, place string, si float64, page string) Value {
		return Value{Key: key, Place: place, NominalSI: si, ShownUnit: quantity.NewtonMetre, SourceKind: FromDocument, DocumentTitle: "Manual", Page: page}
	}
	before := Sheet{Values: []Value{at("axle", "axle", 12, "6"), at("foot bolt", "", 7, "41"), at("knob screw", "knob", 1.1, "9"), at("stem", "steerer", 5, "2")}}
	noise := at("stem", "steerer", 5+1e-15, "2")
	noise.Entered = "5 N·m"
	after := Sheet{Values: []Value{noise, at("foot bolt", "", 7.3, "41"), at("axle", "axle", 12, "7"), at("foot bolt", "foot-left", 7.3, "41")}}
	var got []string
	for _, x := range Differences(before, after) {
		got = append(got, x.ID()+map[bool]string{true: " came", false: ""}[x.Before == nil]+map[bool]string{true: " went", false: ""}[x.After == nil])
	}
	want := []string{"foot bolt@", "foot bolt@foot-left came", "axle@axle", "knob screw@knob went"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	fluid := at("foot bolt", "", 7, "41")
	fluid.Fluid = "grease"
	if n := len(Differences(before, Sheet{Values: append([]Value{fluid}, before.Values[:1]...)})); n != 3 {
		t.Errorf("another fluid and two gone: %d differences, want 3", n)
	}
}

func TestAModelIsCorrectedButKeepsItsKind(t *testing.T) {
	d := withModel(t)
	changed := sill
	changed.Name, changed.Kind, changed.SpringLeg = "Sill", "seatpost", "right"
	if err := ChangeModel(d.ctx, d.tx, d.by, d.model, 1, changed); err != nil {
		t.Errorf("nothing stands on it yet: %v", err)
	}
	d.inForce(t)
	changed.Kind = "fork"
	var invalid *fault.Invalid
	if err := ChangeModel(d.ctx, d.tx, d.by, d.model, 2, changed); !errors.As(err, &invalid) || invalid.Fields["kind"] == "" {
		t.Errorf("another kind with a sheet: %v", err)
	}
	changed.Kind, changed.Years = "seatpost", "2025"
	if err := ChangeModel(d.ctx, d.tx, d.by, d.model, 1, changed); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("over an older version: %v", err)
	}
	if err := ChangeModel(d.ctx, d.tx, d.by, d.model, 2, changed); err != nil {
		t.Error(err)
	}
	if m, err := GetModel(d.ctx, d.tx, d.model); err != nil || m.Years != "2025" || m.SpringLeg != "right" || m.Version != 3 {
		t.Errorf("got %+v, %v", m, err)
	}
	if ties, err := Tied(d.ctx, d.tx, d.model); err != nil || ties.Sheets != 1 || ties.Units != 0 {
		t.Errorf("ties %+v, %v", ties, err)
	}
}

func TestADocumentGoesWhileNothingIsTakenFromIt(t *testing.T) {
	d := withModel(t)
	second, err := AddDocument(d.ctx, d.tx, d.by, d.model, "Workshop letter 14", "2023")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := DraftSheet(d.ctx, d.tx, d.by, d.model, []Value{d.foot()}); err != nil {
		t.Fatal(err)
	}
	if err := RemoveDocument(d.ctx, d.tx, d.by, d.model, d.document); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("one that values are taken from: %v", err)
	}
	if err := RemoveDocument(d.ctx, d.tx, d.by, d.model, second); err != nil {
		t.Fatal(err)
	}
	list, err := Documents(d.ctx, d.tx, d.model)
	if err != nil || len(list) != 1 || !list[0].Used {
		t.Errorf("left: %+v, %v", list, err)
	}
}

func TestAModelAndItsDocumentAreNamedInALineOrTwo(t *testing.T) {
	d := withModel(t)
	long := ""
	for i := range 4000 {
		long += string(rune(0x4e00 + i)) // nothing that packs well
	}
	for field, title := range map[string][2]string{"title": {long, ""}, "edition": {"Workshop letter", long}} {
		var invalid *fault.Invalid
		_, err := AddDocument(d.ctx, d.tx, d.by, d.model, title[0], title[1])
		if !errors.As(err, &invalid) || invalid.Fields[field] == "" {
			t.Fatalf("%s of 4000 letters: %.200v", field, err)
		}
	}
	m := sill
	m.Name = long
	if _, err := AddModel(d.ctx, d.tx, d.by, m); !errors.As(err, new(*fault.Invalid)) {
		t.Errorf("model of 4000 letters: %.200v", err)
	}
}
