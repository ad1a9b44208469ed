package interval

import (
	"errors"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
)

// 400 typed for 40: the slip stays to be seen, and counts for nothing.
func TestWhatWasTakenBackIsKeptAndCountsForNothing(t *testing.T) {
	ctx, tx, by := installed(t)
	unit, today := newUnit(t, ctx, tx), Day(by.At, time.UTC)
	since := today.AddDate(0, 0, -70)
	number := func(n float64) *float64 { return &n }
	say := func(s Said) (last Reading) {
		t.Helper()
		if err := Say(ctx, tx, dbtest.Act(t, tx, by), unit, s, today); err != nil {
			t.Fatal(err)
		}
		list, err := Readings(ctx, tx, unit)
		if err != nil {
			t.Fatal(err)
		}
		return list[len(list)-1]
	}
	wrong := say(Said{Hours: number(400), HoursSince: &since})
	say(Said{Meter: number(100), MeterOn: &since})
	slip := say(Said{Meter: number(1500)})
	for name, c := range map[string]struct {
		id    int64
		why   string
		field string
	}{
		"no reason": {slip.ID, "  ", "why"}, "none chosen": {0, "a slip", "wrong"}, "a long story": {slip.ID, strings.Repeat("x", 501), "why"},
	} {
		var invalid *fault.Invalid
		if err := TakeBack(ctx, tx, by, unit, c.id, c.why); !errors.As(err, &invalid) || invalid.Fields[c.field] == "" {
			t.Errorf("%s: %v, want it refused beside %s", name, err, c.field)
		}
	}
	if err := TakeBack(ctx, tx, by, newUnit(t, ctx, tx), slip.ID, "a slip"); !errors.As(err, new(fault.NotFound)) {
		t.Errorf("by the page of another unit: %v", err)
	}
	for _, r := range []Reading{wrong, slip} {
		if err := TakeBack(ctx, tx, dbtest.Act(t, tx, by), unit, r.ID, " typed 400 for 40 "); err != nil {
			t.Fatal(err)
		}
	}
	told, err := ReadTold(ctx, tx, time.UTC, SeasonOf("north"), unit)
	if err != nil {
		t.Fatal(err)
	}
	log := told.Log(unit)
	if got := log.Ridden(since, today); got.Hours != 0 || got.Gap != 70 || log.Known() {
		t.Errorf("it counts for %+v, known %v; want nothing", got, log.Known())
	}
	used := log.Used()
	if len(used) != 3 {
		t.Fatalf("%d readings are shown, want all 3", len(used))
	}
	for _, u := range used {
		if back := u.ID == wrong.ID || u.ID == slip.ID; u.Standing() == back || back && (u.BackWhy != "typed 400 for 40" || u.BackBy == "" || !u.BackAt.Equal(by.At)) {
			t.Errorf("%v h: taken back %v by %q: %q", u.Reading.Hours, u.BackAt, u.BackBy, u.BackWhy)
		}
	}
	// The meter that was taken back is no measure for the next one: 300 h in 70 days.
	say(Said{Meter: number(400)})
	if told, err = ReadTold(ctx, tx, time.UTC, SeasonOf("north"), unit); err != nil {
		t.Fatal(err)
	}
	if got := told.Log(unit).Ridden(since, today); !near(got.Plain, 300) || got.Gap != 0 {
		t.Errorf("then %+v, want 300 h", got)
	}
	// The last thing in the transaction: a refusal of the database ends it.
	if err := TakeBack(ctx, tx, dbtest.Act(t, tx, by), unit, slip.ID, "again"); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("taken back twice: %v", err)
	}
}

// In the book of a unit its rider takes back what they added there, and nothing
// of the shop's or of whoever had it before.
func TestARiderTakesBackTheirOwnAlone(t *testing.T) {
	ctx, tx, by := installed(t)
	unit, today := newUnit(t, ctx, tx), Day(by.At, time.UTC)
	rider := by
	rider.Staff, rider.Roles, rider.Device = 0, nil, 0
	hours := 4.0
	for _, who := range []struct {
		act  func() error
		want bool
	}{
		{func() error { return Say(ctx, tx, by, unit, Said{Hours: &hours}, today) }, false},
		{func() error {
			return Bring(ctx, tx, by, unit, []Reading{{Kind: Stated, Hours: 4, Source: "rider", At: by.At}})
		}, false},
		{func() error { return Say(ctx, tx, rider, unit, Said{Hours: &hours}, today) }, true},
	} {
		if err := who.act(); err != nil {
			t.Fatal(err)
		}
		list, err := Readings(ctx, tx, unit)
		if err != nil {
			t.Fatal(err)
		}
		r := list[len(list)-1]
		if r.Own != who.want {
			t.Errorf("%+v is the rider's own: %v", r, r.Own)
		}
		err = TakeOwnBack(ctx, tx, rider, unit, r.ID)
		if who.want && err != nil || !who.want && !errors.As(err, new(fault.NotFound)) {
			t.Errorf("taken back in the book: %v", err)
		}
	}
	later := rider
	later.At = by.At.Add(time.Hour)
	if err := Say(ctx, tx, later, unit, Said{Hours: &hours}, today); err != nil {
		t.Fatal(err)
	}
	newUnit(t, ctx, tx) // of somebody else, who buys
	if _, err := tx.Exec(ctx, `insert into unit_sold (unit_id, from_customer, to_customer, on_day, intent_id, at)
		select id, customer_id, (select max(id) from customer), $2, $3, $4 from unit where id = $1`, unit, today, by.Intent, later.At.Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	list, err := Readings(ctx, tx, unit)
	if err != nil {
		t.Fatal(err)
	}
	sellers := list[len(list)-1]
	if err := TakeOwnBack(ctx, tx, rider, unit, sellers.ID); sellers.Own || !errors.As(err, new(fault.NotFound)) {
		t.Errorf("the buyer takes back what the seller added: %v", err)
	}
}
