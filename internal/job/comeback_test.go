package job_test

import (
	"testing"
	"time"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
)

// leave takes the fork in and hands it over, done, that many days before now.
func (d desk) leave(daysAgo int) job.Job {
	d.t.Helper()
	j := d.takeIn()
	d.bring(j.ID, job.OnBench, job.FinalCheck, job.Ready)
	by := d.by
	by.At = d.by.At.AddDate(0, 0, -daysAgo)
	if err := job.HandOver(ctx, d.tx, by, j.ID, ""); err != nil {
		d.t.Fatal(err)
	}
	return d.get(j.ID)
}

// Ninety days: common practice (no source). They are days of the shop's
// calendar, whatever the hour.
func TestAUnitIsRecentForNinetyDaysOfTheShop(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	before := d.leave(0)
	zone := time.FixedZone("east", 12*60*60)
	left := interval.Day(d.by.At, zone)
	for days, want := range map[int]bool{0: true, 89: true, 90: true, 91: false} {
		recent, err := job.RecentOf(ctx, tx, []int64{d.fork}, left.AddDate(0, 0, days), zone)
		if err != nil {
			t.Fatal(err)
		}
		if r, got := recent[d.fork]; got != want || got && r.JobID != before.ID {
			t.Errorf("after %d days %+v, want it recent: %v", days, r, want)
		}
	}
}

func TestAComebackIsFreeAndNextUp(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	before := d.leave(20)
	drop := d.dropOff(d.fork)
	drop.Units[0].Comeback, drop.Units[0].Payer, drop.Units[0].PayerWords = true, job.PaysWarranty, "claim 7"
	visit, err := job.TakeIn(ctx, tx, d.by, drop)
	if err != nil {
		t.Fatal(err)
	}
	v, err := job.Visit(ctx, tx, visit)
	if err != nil {
		t.Fatal(err)
	}
	j := v.Jobs[0]
	if j.ComebackOf == nil || *j.ComebackOf != before.ID || j.ComebackNo != before.Number || j.Payer != job.PaysUs || j.PayerWords != "" {
		t.Errorf("comeback = %+v; want it of %d, paid by us", j, before.Number)
	}
	pins, err := job.Pins(ctx, tx)
	if err != nil || pins[j.ID].Kind != job.NextUp {
		t.Errorf("pins %+v, %v; want it next up", pins, err)
	}
	if err := job.SetWhyBack(ctx, tx, d.by, j.ID, "wiper folded"); !isForbidden(err) {
		t.Errorf("the desk says why it came back: %v", err)
	}
	if err := job.SetWhyBack(ctx, tx, d.mechanic, j.ID, " wiper folded "); err != nil || d.get(j.ID).WhyBack != "wiper folded" {
		t.Errorf("why it came back: %q, %v", d.get(j.ID).WhyBack, err)
	}
	if err := job.SetWhyBack(ctx, tx, d.mechanic, before.ID, "nothing"); !isConflict(err) {
		t.Errorf("of what is no comeback: %v", err)
	}
}

func TestAComebackOfNothingIsRefused(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	d.leave(91)
	drop := d.dropOff(d.fork)
	drop.Units[0].Comeback = true
	if _, err := job.TakeIn(ctx, tx, d.by, drop); !isInvalid(err, "unit0.again") {
		t.Errorf("after 91 days: %v", err)
	}
}

func TestAClaimIsNotOpenedUntilItIsAuthorised(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	drop := d.dropOff(d.fork)
	drop.Units[0].Payer = job.PaysOther
	if _, err := job.TakeIn(ctx, tx, d.by, drop); !isInvalid(err, "unit0.payerwords") {
		t.Errorf("paid by nobody knows which shop: %v", err)
	}
	drop.Units[0].Payer = job.PaysWarranty
	visit, err := job.TakeIn(ctx, tx, d.by, drop)
	if err != nil {
		t.Fatal(err)
	}
	v, err := job.Visit(ctx, tx, visit)
	if err != nil || !v.Jobs[0].Unopened() {
		t.Fatalf("%+v, %v; want a claim that is not authorised", v, err)
	}
	id := v.Jobs[0].ID
	if err := job.Move(ctx, tx, d.mechanic, id, job.OnBench, ""); !isConflict(err) {
		t.Errorf("opened before it is authorised: %v", err)
	}
	if err := job.Authorise(ctx, tx, d.by, id, " "); !isInvalid(err, "claim") {
		t.Errorf("authorised without a number: %v", err)
	}
	if err := job.Authorise(ctx, tx, d.by, id, "W-1"); err != nil {
		t.Fatal(err)
	}
	if err := job.Authorise(ctx, tx, d.by, id, "W-1"); !isConflict(err) {
		t.Errorf("authorised twice: %v", err)
	}
	d.bring(id, job.OnBench)
	if j := d.get(id); j.Unopened() || j.PayerWords != "W-1" {
		t.Errorf("claim %q, unopened %v", j.PayerWords, j.Unopened())
	}
}

// A tap chooses the place, and the words may be forgotten.
func TestAMarkWithoutWordsIsSaidBesideItsRow(t *testing.T) {
	d := newDesk(t, dbtest.Tx(t))
	drop := d.dropOff(d.fork)
	drop.Units[0].Marks = []job.Mark{{}, {Place: "arch"}, {Place: "moon", Words: "chip"}}
	_, err := job.TakeIn(ctx, d.tx, d.by, drop)
	if !isInvalid(err, "unit0.mark1.words") || !isInvalid(err, "unit0.mark2.place") || isInvalid(err, "unit0.mark0.words") {
		t.Errorf("a place without words, and a place there is none of: %v", err)
	}
}

func TestMarksAreThoseOfAUnitAsItCame(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	drop := d.dropOff(d.fork)
	drop.Units[0].Marks = []job.Mark{{Place: "stanchion-left", Words: " scratch, 9 mm "}, {}, {Words: "old sticker"}}
	drop.Units[0].LeftOn = "mudguard"
	visit, err := job.TakeIn(ctx, tx, d.by, drop)
	if err != nil {
		t.Fatal(err)
	}
	v, err := job.Visit(ctx, tx, visit)
	if err != nil {
		t.Fatal(err)
	}
	id := v.Jobs[0].ID
	if err := job.AddMark(ctx, tx, d.mechanic, id, job.Mark{Place: "moon", Words: "chip"}); !isInvalid(err, "mark") {
		t.Errorf("a mark on the moon: %v", err)
	}
	if err := job.AddMark(ctx, tx, d.mechanic, id, job.Mark{Place: "crown", Words: "chip"}); err != nil {
		t.Fatal(err)
	}
	j, got := d.get(id), ""
	for _, m := range j.Marks {
		got += m.Place + ": " + m.Words + "; "
	}
	if want := "stanchion-left: scratch, 9 mm; elsewhere: old sticker; crown: chip; "; got != want || j.LeftOn != "mudguard" {
		t.Errorf("marks %q, left on it %q; want %q", got, j.LeftOn, want)
	}
	d.bring(id, job.OnBench)
	if err := job.AddMark(ctx, tx, d.mechanic, id, job.Mark{Place: "crown", Words: "crack"}); !isConflict(err) {
		t.Errorf("a mark after work began: %v", err)
	}
}
