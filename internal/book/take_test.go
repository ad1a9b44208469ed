package book_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/book"
	"damperdesk/internal/customer"
	"damperdesk/internal/interval"
)

// A note that a file has twice is one, of a unit that is new here and of one that
// is not.
func TestANoteThatAFileHasTwiceIsTakenOnce(t *testing.T) {
	d := newDesk(t, "Lock Street Bikes")
	note := `{ "kind": "stated", "on": "2025-06-01", "since": "2025-03-01", "hours": 41.5, "source": "rider", "conditions": ["dry", "e-bike"] },`
	other := strings.Replace(note, `"dry", "e-bike"`, `"e-bike", "dry"`, 1)
	content := []byte(strings.Replace(sampleText(t), `"ride_hours": [`, `"ride_hours": [`+strings.Repeat(note+other, 400), 1))
	if p := d.look("2025-10-02", d.bring("2025-10-02", content, 0)); len(p.Hours) != 3 {
		t.Errorf("of a new unit it brings %d notes; want 3", len(p.Hours))
	}
	d.addFork()
	id := d.bring("2025-10-02", content, d.unit)
	if p := d.look("2025-10-02", id); len(p.Hours) != 3 {
		t.Errorf("of a unit it brings %d notes; want 3", len(p.Hours))
	}
	d.take("2025-10-02", id, d.unit)
	list, err := interval.Readings(ctx, d.tx, d.unit)
	d.must(err)
	if len(list) != 3 {
		t.Errorf("%d notes are kept; want 3", len(list))
	}
	if p := d.look("2025-10-03", d.bring("2025-10-03", content, d.unit)); p.Any() {
		t.Errorf("again it brings %d notes", len(p.Hours))
	}
}

// A book without a serial that came before may be of the unit that it made then.
func TestABookWithoutASerialWarnsTheSecondTime(t *testing.T) {
	content := []byte(strings.Replace(sampleText(t), `"serial": "TL-48 211"`, `"serial": ""`, 1))
	d := newDesk(t, "Lock Street Bikes")
	first := d.bring("2025-10-02", content, 0)
	if p := d.look("2025-10-02", first); len(p.Alike) != 0 {
		t.Errorf("the first time it is like %+v", p.Alike)
	}
	d.take("2025-10-02", first, 0)
	second := d.look("2025-10-03", d.bring("2025-10-03", content, 0))
	if len(second.Alike) != 1 || second.Alike[0].ID != d.unit || !second.Any() {
		t.Errorf("the second time it is like %+v; want the unit of the first", second.Alike)
	}
	list, err := book.ReadIns(ctx, d.tx, d.unit)
	d.must(err)
	d.must(book.TakeBack(ctx, d.tx, d.on("2025-10-04"), d.unit, list[0].ID, "of another fork"))
	if p := d.look("2025-10-05", d.bring("2025-10-05", content, 0)); len(p.Alike) != 0 {
		t.Errorf("taken back, it is still like %+v", p.Alike)
	}
}

// The shop's own work is known again in a file that is without the serial.
func TestABookThatComesHomeWithoutItsSerialWarns(t *testing.T) {
	d := ridden(t)
	content := bytes.ReplaceAll(d.export("2025-10-01"), []byte("TL-48 211"), nil)
	_, err := customer.AddUnit(ctx, d.tx, d.by, d.customer, customer.UnitDetails{Kind: "fork", ModelWords: "another"})
	d.must(err)
	if p := d.look("2025-10-02", d.bring("2025-10-02", content, 0)); len(p.Alike) != 1 || p.Alike[0].ID != d.unit {
		t.Errorf("it is like %+v; want the fork that was served", p.Alike)
	}
}

// The day of another shop may be one ahead: hours count from today at the latest.
func TestLastBackIsNeverStillToCome(t *testing.T) {
	d := newDesk(t, "Lock Street Bikes")
	d.addFork()
	content := []byte(strings.Replace(sampleText(t), `"day": "2025-09-12"`, `"day": "2025-10-03"`, 1))
	d.take("2025-10-02", d.bring("2025-10-02", content, d.unit), d.unit)
	for _, today := range []string{"2025-10-02", "2025-10-03", "2025-10-09"} {
		last, err := book.LastBack(ctx, d.tx, d.unit, day(today), time.UTC)
		d.must(err)
		if want := min(today, "2025-10-03"); last == nil || last.Format(time.DateOnly) != want {
			t.Errorf("on %s it was last back %v; want %s", today, last, want)
		}
		hours := 1.0
		d.must(interval.Say(ctx, d.tx, d.on(today), d.unit, interval.Said{Hours: &hours, HoursSince: last}, day(today)))
	}
	if n := len(d.book("2025-10-09").Readings); n != 5 {
		t.Errorf("%d notes; want two of the file and three more", n)
	}
}
