package plan_test

import (
	"testing"
	"time"

	"damperdesk/internal/job"
	"damperdesk/internal/plan"
	"damperdesk/internal/shop"
)

// The shop is open from Tuesday to Saturday, eight hours a day: 40 h a week, of
// which 35 h 48 min are left on this Tuesday at 14:12.
func TestWhatTheBenchHasToDoInComingWeeks(t *testing.T) {
	d := newDesk(t)
	d.takeIn("2026-10-17 18:00")
	booked := day("2026-10-21")
	d.takeIn("2026-10-24 18:00", func(drop *job.DropOff) { drop.BookedFor = &booked })
	h := time.Hour
	d.weeks([]plan.Week{
		{From: at("2026-10-12 00:00"), There: 35*h + 48*time.Minute, Taken: h},
		{From: at("2026-10-19 00:00"), There: 40 * h, Taken: h},
		{From: at("2026-10-26 00:00"), There: 40 * h},
	})
	if free := d.plan().Weeks(2)[1].Free(); free != 39*h {
		t.Errorf("free next week: got %v, want 39 h", free)
	}
	s, err := shop.Get(ctx, d.tx)
	d.must(err)
	d.must(shop.SetReserve(ctx, d.tx, d.act(d.owner), s.Version, 25))
	if w := d.plan().Weeks(2)[1]; w.Kept != 10*h || w.Free() != 29*h {
		t.Errorf("with a quarter kept: got %v kept and %v free, want 10 h and 29 h", w.Kept, w.Free())
	}
}

// A job that is worked on over the end of a week is in both, by its hours.
func TestWorkOverTheEndOfAWeek(t *testing.T) {
	d := newDesk(t)
	for range 36 { // one more hour than the week has, less twelve minutes
		d.takeIn("2026-10-17 18:00")
	}
	weeks := d.plan().Weeks(2)
	if got := weeks[0].Taken + weeks[1].Taken; got != 36*time.Hour {
		t.Errorf("got %v in both weeks, want 36 h", got)
	}
	if weeks[1].Taken != 12*time.Minute {
		t.Errorf("next week: got %v, want 12 min", weeks[1].Taken)
	}
	if weeks[0].Free() != 0 {
		t.Errorf("free this week: got %v, want none", weeks[0].Free())
	}
}

func (d *desk) weeks(want []plan.Week) {
	d.t.Helper()
	for i, got := range d.plan().Weeks(len(want)) {
		if !got.From.Equal(want[i].From) || got.There != want[i].There || got.Taken != want[i].Taken || got.Kept != want[i].Kept {
			d.t.Errorf("week %d: got %+v, want %+v", i, got, want[i])
		}
	}
}
