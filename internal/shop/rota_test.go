package shop

import (
	"errors"
	"slices"
	"testing"
	"time"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
)

func TestARotaHoldsFromItsDayAndAbsencesAndClosuresCutIt(t *testing.T) {
	ctx, tx := t.Context(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner", "mechanic")
	other := dbtest.By(t, tx, "mechanic").Staff
	must(t, Save(ctx, tx, by, sample()))
	if err := SetHours(ctx, tx, by, nil, UsualWeeks[0]); err != nil { // Tuesday to Saturday, 10 to 18
		t.Fatal(err)
	}
	day := func(s string) time.Time { return utc(t, s+" 00:00") }
	mornings := []Opening{{time.Monday, 480, 720}, {time.Tuesday, 480, 720}}
	must(t, SetRota(ctx, tx, by, Rota{StaffID: by.Staff, From: day("2026-06-08"), Spans: mornings}, 0))
	newest := func() int64 {
		b, err := GetBench(ctx, tx, day("2026-06-01"))
		must(t, err)
		var id int64
		for _, r := range b.Of(by.Staff) {
			id = max(id, r.ID)
		}
		return id
	}
	must(t, SetRota(ctx, tx, by, Rota{StaffID: by.Staff, From: day("2026-07-01"), AsShop: true}, newest()))
	must(t, AddAbsence(ctx, tx, by, Absence{StaffID: by.Staff, Break: Break{day("2026-06-15"), day("2026-06-16"), 0, 600}, Words: "dentist"}))
	must(t, AddBreak(ctx, tx, by, Break{day("2026-06-22"), day("2026-06-22"), 0, DayEnd}))

	b, err := GetBench(ctx, tx, day("2026-06-16"))
	must(t, err)
	if b.Reserve != ReserveUsual || b.Sure != SureUsual || len(b.Absences) != 1 || b.Absences[0].Words != "dentist" {
		t.Errorf("reserve %d, absences %v", b.Reserve, b.Absences)
	}
	mine, theirs := b.Calendar(by.Staff, time.UTC), b.Calendar(other, time.UTC)
	for _, c := range []struct {
		rule, day string
		want      []Opening
	}{
		{"the opening hours before", "2026-06-02", []Opening{{time.Tuesday, 600, 1080}}},
		{"their own week, also when the shop is shut", "2026-06-08", mornings[:1]},
		{"away until ten", "2026-06-16", []Opening{{time.Tuesday, 600, 720}}},
		{"closed", "2026-06-22", nil},
		{"not at the bench on Saturdays", "2026-06-13", nil},
		{"as the shop again", "2026-07-04", []Opening{{time.Saturday, 600, 1080}}},
	} {
		var got []Opening
		for _, s := range mine.Day(day(c.day)) {
			got = append(got, Opening{day(c.day).Weekday(), s.From, s.To})
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %s is %v, want %v", c.rule, c.day, got, c.want)
		}
	}
	if len(theirs.Day(day("2026-06-16"))) != 1 || theirs.Day(day("2026-06-16"))[0].From != 600 {
		t.Errorf("somebody without a rota is there %v", theirs.Day(day("2026-06-16")))
	}
	if later, err := GetBench(ctx, tx, day("2026-06-17")); err != nil || len(later.Absences) != 0 {
		t.Errorf("absences that are over are read: %v, %v", later.Absences, err)
	}
	must(t, RemoveAbsence(ctx, tx, by, b.Absences[0].ID))
	for rule, err := range map[string]error{
		"gone already":    RemoveAbsence(ctx, tx, by, b.Absences[0].ID),
		"a newer one set": SetRota(ctx, tx, by, Rota{StaffID: by.Staff, From: day("2026-08-01")}, 0),
		"another version": SetReserve(ctx, tx, by, 99, 20),
	} {
		if !errors.As(err, new(fault.Conflict)) {
			t.Errorf("%s: %v, want a conflict", rule, err)
		}
	}
	wantEvents(t, ctx, tx, "rota set", 2)
}

func TestWhatCannotStandAtTheBench(t *testing.T) {
	ctx, tx := t.Context(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner", "mechanic")
	desk := dbtest.By(t, tx, "desk")
	must(t, Save(ctx, tx, by, sample()))
	day := utc(t, "2026-06-01 00:00")
	whole := Break{day, day, 0, DayEnd}
	for _, c := range []struct {
		rule, field string
		err         error
	}{
		{"overlapping spans", "monday", SetRota(ctx, tx, by, Rota{StaffID: by.Staff, From: day, Spans: []Opening{{time.Monday, 480, 720}, {time.Monday, 700, 900}}}, 0)},
		{"no mechanic", "who", SetRota(ctx, tx, by, Rota{StaffID: desk.Staff, From: day}, 0)},
		{"nobody", "who", AddAbsence(ctx, tx, by, Absence{Break: whole})},
		{"back before gone", "last", AddAbsence(ctx, tx, by, Absence{StaffID: by.Staff, Break: Break{day, day.AddDate(0, 0, -1), 0, DayEnd}})},
		{"all of it kept free", "reserve", SetReserve(ctx, tx, by, 1, 81)},
		{"less than none", "reserve", SetReserve(ctx, tx, by, 1, -1)},
		{"all are kept", "sure", SetSure(ctx, tx, by, 1, 100)},
		{"fewer than even chances", "sure", SetSure(ctx, tx, by, 1, 49)},
	} {
		var bad *fault.Invalid
		if !errors.As(c.err, &bad) || bad.Fields[c.field] == "" {
			t.Errorf("%s: %v, want a sentence beside %s", c.rule, c.err, c.field)
		}
	}
	for what, err := range map[string]error{"reserve": SetReserve(ctx, tx, desk, 1, 10), "how sure promises are": SetSure(ctx, tx, desk, 1, 90)} {
		if !errors.As(err, new(fault.Forbidden)) {
			t.Errorf("the desk set the %s: %v", what, err)
		}
	}
	must(t, SetReserve(ctx, tx, by, 1, 25))
	must(t, SetSure(ctx, tx, by, 2, 95))
	if b, err := GetBench(ctx, tx, day); err != nil || b.Reserve != 25 || b.Sure != 95 {
		t.Errorf("reserve %d, sure %d, %v", b.Reserve, b.Sure, err)
	}
}

func TestAMechanicDoesWhatTheyAreNotSaidNotToDo(t *testing.T) {
	ctx, tx := t.Context(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner", "mechanic")
	desk := dbtest.By(t, tx, "desk")
	must(t, Save(ctx, tx, by, sample()))
	for _, code := range []string{"damper", "lower-leg"} {
		_, err := tx.Exec(ctx, "insert into service (code, name, kinds, blocks, covers, seq) values ($1, $1, '{fork}', '{W}', '{}', 1)", code)
		must(t, err)
	}
	must(t, SetNotDone(ctx, tx, by, by.Staff, []string{"damper", "no such service"}, nil))
	b, err := GetBench(ctx, tx, utc(t, "2026-06-01 00:00"))
	if err != nil || b.Does(by.Staff, "damper") || !b.Does(by.Staff, "lower-leg") || !b.Does(desk.Staff, "damper") {
		t.Errorf("not done: %v, %v; want the damper by one", b.NotDone, err)
	}
	for rule, c := range map[string]struct {
		err  error
		kind any
	}{
		"over what was not seen": {SetNotDone(ctx, tx, by, by.Staff, nil, nil), new(fault.Conflict)},
		"no mechanic":            {SetNotDone(ctx, tx, by, desk.Staff, nil, nil), new(*fault.Invalid)},
		"the desk":               {SetNotDone(ctx, tx, desk, by.Staff, nil, []string{"damper"}), new(fault.Forbidden)},
	} {
		if !errors.As(c.err, c.kind) {
			t.Errorf("%s: %v", rule, c.err)
		}
	}
	must(t, SetNotDone(ctx, tx, by, by.Staff, nil, []string{"damper"}))
	if b, err := GetBench(ctx, tx, utc(t, "2026-06-01 00:00")); err != nil || len(b.NotDone) != 0 {
		t.Errorf("not done: %v, %v; want nothing", b.NotDone, err)
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
