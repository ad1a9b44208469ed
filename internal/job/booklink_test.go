package job_test

import (
	"bytes"
	"testing"
	"time"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/link"
)

// The link of a unit's book lasts two years from the day it was last taken in or
// picked up; a booking alone does not lengthen it.
func TestEveryVisitLengthensTheLinkOfTheBook(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	if _, err := link.MakeOfUnit(ctx, tx, d.by, bytes.Repeat([]byte{7}, link.MinKey), d.fork); err != nil {
		t.Fatal(err)
	}
	ends := func(when string, want time.Time) {
		t.Helper()
		var got time.Time
		if err := tx.QueryRow(ctx, "select expires_at from link where unit_id = $1", d.fork).Scan(&got); err != nil || !got.Equal(want) {
			t.Errorf("%s it works until %s, %v; want %s", when, got.Format(time.DateOnly), err, want.Format(time.DateOnly))
		}
	}
	later := func(by history.By, days int) history.By {
		by = dbtest.Act(t, tx, by)
		by.At = d.by.At.AddDate(0, 0, days)
		return by
	}
	ends("once made", d.by.At.AddDate(2, 0, 0))
	drop := d.dropOff(d.fork)
	in := later(d.by, 30)
	booked := in.At.AddDate(0, 0, 2)
	drop.PromisedAt, drop.BookedFor = in.At.AddDate(0, 0, 4), &booked
	visit, err := job.TakeIn(ctx, tx, in, drop)
	if err != nil {
		t.Fatal(err)
	}
	ends("booked", d.by.At.AddDate(2, 0, 0))
	here := later(d.by, 32)
	if err := job.ComeIn(ctx, tx, here, visit, job.Coming{}); err != nil {
		t.Fatal(err)
	}
	ends("here", here.At.AddDate(2, 0, 0))
	v, err := job.Visit(ctx, tx, visit)
	if err != nil {
		t.Fatal(err)
	}
	for _, stage := range []string{job.InQueue, job.OnBench, job.FinalCheck, job.Ready} {
		by := later(d.mechanic, 33)
		by.Roles = []string{"desk", "mechanic"}
		if err := job.Move(ctx, tx, by, v.Jobs[0].ID, stage, ""); err != nil {
			t.Fatal(err)
		}
	}
	out := later(d.by, 40)
	if err := job.HandOver(ctx, tx, out, v.Jobs[0].ID, ""); err != nil {
		t.Fatal(err)
	}
	ends("picked up", out.At.AddDate(2, 0, 0))
}
