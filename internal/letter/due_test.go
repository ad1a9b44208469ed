package letter_test

import (
	"strings"
	"testing"
	"time"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/due"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/message"
)

func TestDueSoonSpeaksOfTheLastService(t *testing.T) {
	d := open(t)
	d.bring(d.jobs[0], toReady...)
	d.must(job.HandOver(ctx, d.tx, d.act(), d.jobs[0].ID, ""))
	d.late = 300 * 24 * time.Hour
	post := func(last time.Time) {
		t.Helper()
		if _, err := message.PostDueSoon(ctx, d.tx, d.act(), d.jobs[0].UnitID, "lower-leg", message.Since{Done: last}); err != nil {
			t.Fatal(err)
		}
	}
	post(dbtest.Now)
	text := d.wants("due", message.DueSoon, "Weir Lane Cycles: lower-leg service for your Sill 34",
		"due for a service again: lower-leg service.", "last done here on "+dbtest.Now.Format("2 January 2006"), "Lower-leg service again after 50 hours", "jet washed")
	if strings.Contains(text, "/c/") {
		t.Errorf("it leads to an old visit:\n%s", text)
	}
	first := d.of(message.DueSoon)
	_, err := d.tx.Exec(ctx, `update message set state = 'sent', sent_at = at, handed_over_at = at, subject = 'due', body = 'due', mail = 'mirela@example.com' where id = $1`, first.ID)
	d.must(err)
	if _, err := message.OnceMore(ctx, d.tx, d.act(), first.ID); err != nil || d.of(message.DueSoon).ID == first.ID {
		t.Fatalf("not sent once more: %v", err)
	}
	d.wants("once more", message.DueSoon, "Weir Lane Cycles: lower-leg service for your Sill 34")
	today := interval.Day(d.act().At, time.UTC)
	until := today.AddDate(0, 1, 0)
	d.must(due.Put(ctx, d.tx, d.act(), due.PutOff{UnitID: d.jobs[0].UnitID, Service: "lower-leg", Kind: due.Snoozed, Until: &until}, today))
	d.wantsMoot("put off", message.DueSoon)
	d.must(due.TakeBack(ctx, d.tx, d.act(), d.jobs[0].UnitID, "lower-leg"))
	d.wants("not put off any more", message.DueSoon, "Weir Lane Cycles: lower-leg service for your Sill 34")
	_, err = d.tx.Exec(ctx, "savepoint unbooked")
	d.must(err)
	in := job.DropOff{CustomerID: d.jobs[0].CustomerID, PromisedAt: d.act().At.AddDate(0, 1, 0), Currency: "GBP",
		Units: []job.DropOffUnit{{UnitID: d.jobs[0].UnitID, Symptoms: []string{job.JustDue}, Services: []string{"lower-leg"}}}}
	day := interval.Day(in.PromisedAt.AddDate(0, 0, -3), time.UTC)
	in.BookedFor = &day
	_, err = job.TakeIn(ctx, d.tx, d.act(), in)
	d.must(err)
	d.must(due.Settle(ctx, d.tx, d.act().At))
	d.wantsMoot("it is booked", message.DueSoon)
	_, err = d.tx.Exec(ctx, "rollback to unbooked")
	d.must(err)
	post(dbtest.Now.AddDate(0, 0, -9))
	d.wantsMoot("it was done since", message.DueSoon)
}
