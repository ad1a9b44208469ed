package book_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/book"
	"damperdesk/internal/customer"
	"damperdesk/internal/due"
	"damperdesk/internal/fault"
	"damperdesk/internal/interval"
)

func number(v float64) *float64 { return &v }

// ridden is a fork that was here twice and of which its rider said something.
func ridden(t testing.TB) *desk {
	d := newDesk(t, "Weir Lane Cycles")
	d.addFork()
	d.serve("2025-03-01", 76, "felt", "lower-leg")
	since := day("2025-03-01")
	d.must(interval.Say(ctx, d.tx, d.on("2025-06-01"), d.unit, interval.Said{Hours: number(41.5), HoursSince: &since,
		RidesAWeek: number(2), HoursARide: number(1.5)}, day("2025-06-01")))
	d.serve("2025-09-12", 71.5, "knocks", "air-spring", "bushing")
	return d
}

// saidAll says what a unit of that desk can be said to have been ridden.
func (d *desk) saidAll() {
	d.t.Helper()
	read := day("2025-09-14")
	for _, s := range []interval.Said{
		{RidesAWeek: number(3), HoursARide: number(2), Season: interval.InSeason, Conditions: []string{interval.Wet, interval.HeavyRider}},
		{RidesAWeek: number(1), HoursARide: number(1), Season: interval.OffSeason},
		{Hours: number(20), Indoor: number(5), Conditions: []string{interval.Dry, interval.EBike}},
		{Meter: number(312), MeterOn: &read, Indoor: number(2), Source: "bike computer"},
	} {
		d.must(interval.Say(ctx, d.tx, d.on("2025-09-20"), d.unit, s, day("2025-09-20")))
	}
}

func TestAllThatWasSaidOfTheRidingGoesAlong(t *testing.T) {
	var first []byte
	t.Run("written", func(t *testing.T) {
		d := ridden(t)
		d.saidAll()
		first = d.export("2025-10-01")
		if bytes.Contains(first, []byte("heavy")) {
			t.Error("the file says what the rider weighs")
		}
		if p := d.look("2025-10-02", d.bring("2025-10-02", first, d.unit)); len(p.Hours) > 0 {
			t.Errorf("come home it brings %+v", p.Hours)
		}
	})
	t.Run("read in by an empty shop", func(t *testing.T) {
		d := newDesk(t, "Lock Street Bikes")
		d.take("2025-10-02", d.bring("2025-10-02", first, 0), 0)
		var list []string
		for _, r := range d.book("2025-10-03").Readings[2:] {
			on := ""
			if r.OnDay != nil {
				on = r.OnDay.Format("2006-01-02")
			}
			list = append(list, fmt.Sprintf("%s %v %v %v %s %v %v %s", r.Kind, r.Hours, r.RidesAWeek, r.HoursARide, r.Season, r.IndoorHours, r.Conditions, on))
		}
		want := []string{"habit 0 3 2 in the season 0 [wet and gritty] ", "habit 0 1 1 off the season 0 [] ",
			"stated 20 0 0 all year 5 [dry e-bike] ", "meter 312 0 0 all year 2 [] 2025-09-14"}
		if !slices.Equal(list, want) {
			t.Errorf("got %q\nwant %q", list, want)
		}
		d.againNothing(first)
	})
}

func TestTheBookHasWhatWasDoneReadAndSet(t *testing.T) {
	d := ridden(t)
	b := d.book("2025-10-01")
	if len(b.Works) != 2 || b.Works[0].Day.Format("2006-01-02") != "2025-09-12" || b.Works[0].Services[0].Code == "" {
		t.Fatalf("works %v; want two, the newest first", works(b.Works))
	}
	w := b.Works[0]
	var steps []string
	for _, r := range w.Readings {
		steps = append(steps, r.Step)
	}
	if got := strings.Join(steps, " "); got != "A4 A6 P2" {
		t.Errorf("readings of %q; want A4 A6 P2: no torque, no complaint, no settings, no verdict", got)
	}
	if r := w.Readings[0]; *r.Value < 71.4*6894.75 || *r.Value > 71.6*6894.76 || r.Unit != "Pa" || r.ShownIn != "psi" {
		t.Errorf("pressure %+v; want 71.5 psi in Pa", r)
	}
	if len(w.Settings) != 2 || w.Settings[0].Key != "pressure" || *w.Settings[1].Count != 7 || w.Settings[1].Form != "clicks" {
		t.Errorf("settings %+v; want the pressure and 7 clicks of rebound", w.Settings)
	}
	if len(w.Found) != 2 || w.Found[0].What != "Bushing play: knocks" || w.Found[1].Words != "scratched by Odette’s dog" ||
		w.Found[1].What != "Grade bushing play at three heights" {
		t.Errorf("found %+v", w.Found)
	}
}

// Nothing that a person said or is called stands in what may go with the unit.
func TestTheFileSpeaksOfNoPerson(t *testing.T) {
	d := ridden(t)
	content := string(d.export("2025-10-01"))
	for _, own := range []string{"Odette", "Marsh", "900118", "groans", "dog", "hardtail", "T7"} {
		if strings.Contains(content, own) {
			t.Errorf("the file says %q", own)
		}
	}
	for _, of := range []string{"TL-48 211", "Tindra Lode 140", `"pressure"`, `"Pa"`, "Weir Lane Cycles", "Bushing play: knocks"} {
		if !strings.Contains(content, of) {
			t.Errorf("the file lacks %q", of)
		}
	}
}

func TestTheBookOfAUnitThatWasSoldHasNoWordsOfWhoeverHadIt(t *testing.T) {
	d := ridden(t)
	other, err := customer.Add(ctx, d.tx, d.by, customer.Details{Name: "Bram Fenwick", Phone: "07700 900119"})
	d.must(err)
	_, err = d.tx.Exec(ctx, "update unit set customer_id = $2, bike_id = null where id = $1", d.unit, other)
	d.must(err)
	d.customer = other
	d.serve("2026-02-01", 80, "knocks", "lower-leg")
	b := d.book("2026-03-01")
	for i, w := range b.Works {
		if w.Own != (i == 0) {
			t.Errorf("%s is the rider's own: %v", w.Day.Format("2006-01-02"), w.Own)
		}
		for _, f := range w.Found {
			if (f.Words+f.How != "") != (i == 0) {
				t.Errorf("%s: typed words %q %q", w.Day.Format("2006-01-02"), f.Words, f.How)
			}
		}
	}
	if len(b.Works) != 3 || len(b.Works[1].Found) != 2 || b.Works[1].Found[0].What != "Bushing play: knocks" {
		t.Errorf("works %+v; want the earlier services and findings still", works(b.Works))
	}
}

// What one shop writes another reads, and would write again.
func TestABookGoesFromShopToShop(t *testing.T) {
	var first []byte
	t.Run("written", func(t *testing.T) { first = ridden(t).export("2025-10-01") })
	t.Run("read in by an empty shop", func(t *testing.T) {
		d := newDesk(t, "Lock Street Bikes")
		p := d.look("2025-10-02", d.bring("2025-10-02", first, 0))
		if p.Refused != "" || p.Unit.ID != 0 || len(p.Works) != 2 || p.Readings() != 6 || len(p.Hours) != 2 {
			t.Fatalf("the plan %q: unit %d, %d services, %d readings, %d hours; want a new unit, 2, 6 and 2", p.Refused, p.Unit.ID, len(p.Works), p.Readings(), len(p.Hours))
		}
		d.take("2025-10-02", p.ID, 0)
		var was, is book.File
		d.must(json.Unmarshal(first, &was))
		d.must(json.Unmarshal(d.export("2025-10-03"), &is))
		if !reflect.DeepEqual(is.Services, was.Services) || !reflect.DeepEqual(is.RideHours, was.RideHours) || is.Unit != was.Unit {
			t.Errorf("written again:\n%+v\n%+v\nwant\n%+v\n%+v", is.Services, is.RideHours, was.Services, was.RideHours)
		}
		for _, w := range d.book("2025-10-03").Works {
			if !w.Elsewhere || w.Shop != "Weir Lane Cycles" {
				t.Errorf("%s of %q is elsewhere: %v", w.Day.Format("2006-01-02"), w.Shop, w.Elsewhere)
			}
		}
		d.againNothing(first)
		d.countsAsDone()
	})
}

// againNothing reads the same file in again: by its serial it is the same unit.
func (d *desk) againNothing(content []byte) {
	d.t.Helper()
	id := d.bring("2025-10-04", content, 0)
	p := d.look("2025-10-04", id)
	if p.Unit.ID != d.unit || p.Any() || p.Known != 2 {
		d.t.Errorf("the same file again: unit %d, anything %v, known %d; want that unit and nothing", p.Unit.ID, p.Any(), p.Known)
	}
	if _, err := book.Take(ctx, d.tx, d.on("2025-10-04"), id, d.unit); !errors.As(err, new(fault.Conflict)) {
		d.t.Errorf("taken again: %v; want a Conflict", err)
	}
}

// countsAsDone holds that intervals count from what was done elsewhere: 12 months
// of an air spring from 12 September 2025, which covers the lower legs. Common
// practice (no source).
func (d *desk) countsAsDone() {
	d.t.Helper()
	rows, err := due.OfUnit(ctx, d.tx, d.unit, day("2026-09-12"))
	d.must(err)
	state := map[string]interval.State{}
	for _, r := range rows {
		state[r.Code] = r.State()
		if s := r.Served; (r.Code == "air-spring" || r.Code == "lower-leg") && (s == nil || s.Ready.Format("2006-01-02") != "2025-09-12") {
			d.t.Errorf("%s was last done %+v; want 12 September 2025", r.Code, s)
		}
	}
	if state["air-spring"] != interval.Overdue && state["air-spring"] != interval.Due {
		d.t.Errorf("the air spring is %s a year on; want due, or overdue by hours", state["air-spring"])
	}
	last, err := book.LastBack(ctx, d.tx, d.unit, day("2026-01-01"), time.UTC)
	d.must(err)
	if last == nil || last.Format("2006-01-02") != "2025-09-12" {
		d.t.Errorf("last back %v; want 2025-09-12", last)
	}
}

// The shop that wrote a book knows its own work when the book comes back.
func TestABookThatComesHomeBringsNothingTwice(t *testing.T) {
	d := ridden(t)
	p := d.look("2025-10-02", d.bring("2025-10-02", d.export("2025-10-01"), d.unit))
	if p.Any() || p.Known != 2 || len(p.Hours) != 0 {
		t.Errorf("the plan has %v, %d hours and %d known; want nothing new", works(p.Works), len(p.Hours), p.Known)
	}
}

// A reading that was taken back stays out of the file, which has no words for it,
// and does not come back with a file that still has it.
func TestTheFileIsWithoutWhatWasTakenBack(t *testing.T) {
	d := ridden(t)
	before := d.export("2025-10-01")
	list := d.book("2025-10-01").Readings
	slip := list[len(list)-1]
	d.must(interval.TakeBack(ctx, d.tx, d.on("2025-10-02"), d.unit, slip.ID, "typed for another"))
	var was, is book.File
	d.must(json.Unmarshal(before, &was))
	d.must(json.Unmarshal(d.export("2025-10-03"), &is))
	if n := len(was.RideHours); n != len(list) || !reflect.DeepEqual(is.RideHours, was.RideHours[:n-1]) {
		t.Errorf("the file has %+v; want all but the last of %+v", is.RideHours, was.RideHours)
	}
	if b := d.book("2025-10-03"); len(b.Readings) != len(list) || b.Readings[len(list)-1].Standing() {
		t.Errorf("the book shows %+v; want all, the last taken back", b.Readings)
	}
	if p := d.look("2025-10-04", d.bring("2025-10-04", before, d.unit)); p.Any() {
		t.Errorf("the file of before brings %+v again", p.Hours)
	}
}

// A book that was read into the wrong unit is shown there and counts for nothing:
// nothing is due by it, its file is without it, and it can go where it belongs.
func TestABookReadIntoTheWrongUnitIsTakenBack(t *testing.T) {
	var content []byte
	t.Run("written", func(t *testing.T) { content = ridden(t).export("2025-10-01") })
	d := newDesk(t, "Lock Street Bikes")
	d.addFork()
	hours := 5.0
	d.must(interval.Say(ctx, d.tx, d.on("2025-09-01"), d.unit, interval.Said{Hours: &hours}, day("2025-09-01").Truncate(24*time.Hour)))
	before := d.export("2025-10-01")
	d.take("2025-10-02", d.bring("2025-10-02", content, d.unit), d.unit)
	list, err := book.ReadIns(ctx, d.tx, d.unit)
	d.must(err)
	if len(list) != 1 || list[0].Services != 2 || list[0].Hours != 2 || list[0].By == "" || list[0].BackAt != nil || !slices.Equal(list[0].Shops, []string{"Weir Lane Cycles"}) {
		t.Fatalf("read in: %+v; want one book of 2 services and 2 notes", list)
	}
	d.countsAsDone()
	for _, wrong := range []struct {
		id    int64
		why   string
		field string
	}{{0, "wrong fork", "which"}, {list[0].ID, " ", "why"}} {
		var invalid *fault.Invalid
		if err := book.TakeBack(ctx, d.tx, d.on("2025-10-03"), d.unit, wrong.id, wrong.why); !errors.As(err, &invalid) || invalid.Fields[wrong.field] == "" {
			t.Errorf("%+v: %v", wrong, err)
		}
	}
	mechanic := d.on("2025-10-03")
	mechanic.Roles = []string{"mechanic"}
	if err := book.TakeBack(ctx, d.tx, mechanic, d.unit, list[0].ID, "wrong fork"); !errors.As(err, new(fault.Forbidden)) {
		t.Errorf("a mechanic takes it back: %v", err)
	}
	d.must(book.TakeBack(ctx, d.tx, d.on("2025-10-03"), d.unit, list[0].ID, "wrong fork"))
	if after := d.export("2025-10-01"); !bytes.Equal(after, before) {
		t.Errorf("the file is\n%s\nwant, as before,\n%s", after, before)
	}
	d.nothingOfIt()
	wrong := d.unit
	other, err := customer.AddUnit(ctx, d.tx, d.by, d.customer, customer.UnitDetails{Kind: "fork", ModelWords: "Tindra Lode 140"})
	d.must(err)
	d.take("2025-10-04", d.bring("2025-10-04", content, other), other)
	d.countsAsDone()
	if p := d.look("2025-10-05", d.bring("2025-10-05", content, wrong)); p.Any() || p.Back != 2 {
		t.Errorf("into the wrong one again: %d services and %d notes, %d left out; want nothing", len(p.Works), len(p.Hours), p.Back)
	}
}

// nothingOfIt holds that the unit has of the book what is shown, and no more.
func (d *desk) nothingOfIt() {
	d.t.Helper()
	list, err := book.ReadIns(ctx, d.tx, d.unit)
	d.must(err)
	if len(list) != 1 || list[0].BackAt == nil || list[0].BackBy == "" || list[0].BackWhy != "wrong fork" {
		d.t.Errorf("read in: %+v; want it taken back", list)
	}
	works, err := book.Elsewhere(ctx, d.tx, d.unit)
	d.must(err)
	if len(works) != 2 || works[0].BackAt == nil || works[1].BackAt == nil {
		d.t.Errorf("shown %+v; want both services, taken back", works)
	}
	rows, err := due.OfUnit(ctx, d.tx, d.unit, day("2026-09-12"))
	d.must(err)
	for _, r := range rows {
		if r.Served != nil {
			d.t.Errorf("%s was last done %v", r.Code, r.Served.Ready)
		}
	}
	last, err := book.LastBack(ctx, d.tx, d.unit, day("2026-01-01"), time.UTC)
	d.must(err)
	if last != nil {
		d.t.Errorf("last back %v", last)
	}
}

func TestWhatDoesNotFitIsNotTaken(t *testing.T) {
	d := ridden(t)
	content := d.export("2025-10-01")
	refused := func(content []byte, unit, customer int64, want string) {
		t.Helper()
		id, err := book.Bring(ctx, d.tx, d.on("2025-10-02"), book.Brought{Name: "x", Content: content, UnitID: unit, CustomerID: customer})
		d.must(err)
		if p := d.look("2025-10-02", id); !strings.Contains(p.Refused, want) || p.Any() {
			t.Errorf("refused %q; want %q", p.Refused, want)
		}
		if _, err := book.Take(ctx, d.tx, d.on("2025-10-02"), id, unit); !errors.As(err, new(fault.Conflict)) {
			t.Errorf("taken all the same: %v", err)
		}
	}
	other, err := customer.AddUnit(ctx, d.tx, d.by, d.customer, customer.UnitDetails{Kind: "fork", ModelWords: "other", Serial: "99"})
	d.must(err)
	shock, err := customer.AddUnit(ctx, d.tx, d.by, d.customer, customer.UnitDetails{Kind: "rear shock", ModelWords: "other"})
	d.must(err)
	bram, err := customer.Add(ctx, d.tx, d.by, customer.Details{Name: "Bram Fenwick", Phone: "07700 900119"})
	d.must(err)
	refused(content, other, 0, "this unit has 99")
	refused(content, shock, 0, "this unit is a rear shock")
	refused(content, 0, bram, "somebody else’s")
	refused(bytes.ReplaceAll(content, []byte("TL-48 211"), []byte("none at all")), 0, 0, "No unit here has this serial")
	_, err = customer.AddUnit(ctx, d.tx, d.by, d.customer, customer.UnitDetails{Kind: "fork", ModelWords: "other", Serial: "TL48211", SerialSure: true})
	d.must(err)
	refused(content, 0, 0, "Several units")
	by := d.on("2025-10-02")
	by.Roles = []string{"mechanic"}
	if _, err := book.Bring(ctx, d.tx, by, book.Brought{Content: content}); !errors.As(err, new(fault.Forbidden)) {
		t.Errorf("a mechanic brings one: %v", err)
	}
}
