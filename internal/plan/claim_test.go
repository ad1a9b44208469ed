package plan_test

import (
	"testing"
	"time"

	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/plan"
)

// Sources: hours counted by hand; the word on a claim is reckoned with like a
// customer's, a day on.
func TestAClaimIsReckonedWithFromWhenItIsAuthorised(t *testing.T) {
	d := newDesk(t)
	j := d.takeIn("2026-10-16 18:00", func(drop *job.DropOff) { drop.Units[0].Payer = job.PaysWarranty })
	d.wants("a day on", j, "2026-10-14 15:12", "waits for the claim to be authorised, reckoned with tomorrow")
	if e, ok := d.plan().Next(d.bench.Staff); ok {
		t.Errorf("ticket %d is to be taken up now", e.Number)
	}
	came := d.by.At
	d.by.At = at("2026-10-15 14:12")
	d.wants("no word by then", j, "2026-10-16 11:00", "waits for the claim to be authorised, reckoned with tomorrow")
	d.by.At = came
	d.must(job.Authorise(ctx, d.tx, d.act(history.By{Staff: d.by.Staff, At: d.by.At, Roles: []string{"desk"}}), j.ID, "W-17"))
	d.wants("authorised", j, "2026-10-13 15:12", "next on the bench")
}

func TestAClaimThatComesIsPromisedBehindItsWord(t *testing.T) {
	d := newDesk(t)
	unit := plan.Unit{Work: job.Work{Services: []string{hour}}, Unopened: true}
	p := d.plan().Propose([]plan.Unit{unit}, time.Time{})
	if !p.Expected.Equal(at("2026-10-14 15:12")) || p.Why != "waits for the claim to be authorised, reckoned with tomorrow" {
		t.Errorf("expected %s, %q", p.Expected, p.Why)
	}
	if p = d.plan().Propose([]plan.Unit{unit}, at("2026-10-22 00:00")); !p.Expected.Equal(at("2026-10-22 11:00")) {
		t.Errorf("booked, it is expected %s", p.Expected)
	}
}
