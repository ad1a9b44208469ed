package bench_test

import (
	"errors"
	"testing"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
)

// Fifteen minutes of standing at the final check: common practice (no source).
func TestAWaitIsSignedWhenItsTimeIsUpOrWithAReason(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	d.signUpTo("V3.compression")
	wait := d.step("V4")
	if wait.Minutes != 15 {
		t.Fatalf("V4 stands %d minutes, want 15", wait.Minutes)
	}
	last := d.step("V3.compression").Done.At
	if till, ok := d.sheet().WaitTill(wait); !ok || !till.Equal(last.Add(15*time.Minute)) {
		t.Fatalf("V4 stands till %v, %v, want 15 minutes after %v", till, ok, last)
	}
	at := func(after time.Duration, g bench.Signing) error {
		by := d.act()
		by.At = last.Add(after)
		g.StepID = wait.ID
		return d.tried(func(tx pgxTx) error { return bench.Sign(ctx, tx, by, london, g) })
	}
	early := func(after time.Duration, sentence string) {
		var invalid *fault.Invalid
		if err := at(after, bench.Signing{}); !errors.As(err, &invalid) || invalid.Fields["reason"] != sentence {
			t.Errorf("after %v: %v, want beside the reason: %s", after, err, sentence)
		}
	}
	early(4*time.Minute, "Of 15 minutes 11 are left: sign it when they are over, or say why this is enough.")
	early(15*time.Minute-time.Second, "Of 15 minutes 1 is left: sign it when they are over, or say why this is enough.")
	for what, err := range map[string]error{
		"in time":         at(15*time.Minute, bench.Signing{}),
		"early, a reason": at(time.Minute, bench.Signing{Reason: "It stood while the wheel went in."}),
		"from paper":      at(0, bench.Signing{How: bench.HowPaper}),
		"does not apply":  at(0, bench.Signing{Outcome: bench.OutcomeNot, Reason: "It is sent on open."}),
	} {
		if err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// A shared-oil leg is filled from the top once the lowers are on, then stroked and
// left to stand; what was signed before the lowers is no beginning of it.
func TestAWaitBeforeWhichAStepIsOpenHasNotBegun(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	d.signUpTo("V3.rebound")
	wait := d.step("V4")
	if till, ok := d.sheet().WaitTill(wait); ok {
		t.Errorf("stands till %v while the step before it is open", till)
	}
	sign := func(g bench.Signing) error {
		g.StepID = wait.ID
		return d.tried(func(tx pgxTx) error { return bench.Sign(ctx, tx, d.act(), london, g) })
	}
	var invalid *fault.Invalid
	if err := sign(bench.Signing{}); !errors.As(err, &invalid) || invalid.Fields["reason"] == "" {
		t.Errorf("signed without having begun: %v, want a question beside the reason", err)
	}
	if err := sign(bench.Signing{Reason: "It stood over lunch."}); err != nil {
		t.Errorf("with a reason: %v", err)
	}
	d.must(bench.BeginWait(ctx, d.tx, d.act(), wait.ID))
	if _, ok := d.sheet().WaitTill(d.step("V4")); !ok {
		t.Error("does not count once somebody let it begin")
	}
}

func TestAWaitCountsFromTheLastTimeItWasBegun(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	d.signUpTo("V1")
	refused(t, "before what comes first is signed", bench.BeginWait(ctx, d.tx, d.act(), d.step("V1").ID), "This step has no time to wait for.")
	d.signUpTo("V3.compression")
	by := d.act()
	by.At = by.At.Add(20 * time.Minute)
	d.must(bench.BeginWait(ctx, d.tx, by, d.step("V4").ID))
	sheet := d.sheet()
	if till, _ := sheet.WaitTill(sheet.ByKey("V4")); !till.Equal(by.At.Add(15 * time.Minute)) {
		t.Errorf("stands till %v, want 15 minutes after %v", till, by.At)
	}
	if w := sheet.Waiting(); w == nil || w.Key != "V4" {
		t.Errorf("waits for %v, want V4", w)
	}
	d.signUpTo("V4")
	if sheet = d.sheet(); sheet.Waiting() != nil {
		t.Errorf("still waits for %s", sheet.Waiting().Key)
	}
	refused(t, "once it is signed", bench.BeginWait(ctx, d.tx, d.act(), d.step("V4").ID), "This wait is over.")
}

func TestParkedSheetsSayHowFarTheyAre(t *testing.T) {
	tx := dbtest.Tx(t)
	d := withSheet(t, tx)
	d.start()
	d.signUpTo("V3.compression")
	other := d.takeIn(customer.UnitDetails{Kind: "fork", ModelWords: "another fork of no known make"}).Jobs[0].ID
	parked := func(who, open int64) []bench.Parked {
		_, list, err := bench.Open(ctx, tx, open, who)
		d.must(err)
		return list
	}
	if list := parked(d.by.Staff, d.job); len(list) != 0 {
		t.Errorf("the open sheet is among the parked ones: %+v", list)
	}
	list := parked(d.by.Staff, other)
	if len(list) != 1 {
		t.Fatalf("%d parked, want 1", len(list))
	}
	sheet, p := d.sheet(), list[0]
	till, _ := sheet.WaitTill(sheet.ByKey("V4"))
	if p.JobID != d.job || p.Signed != sheet.Signed() || p.Steps != len(sheet.Steps) || p.NextID != d.step("V4").ID || p.Till == nil || !p.Till.Equal(till) {
		t.Errorf("parked as %+v, want %d of %d signed, on with V4, standing till %v", p, sheet.Signed(), len(sheet.Steps), till)
	}
	if list := parked(dbtest.By(t, tx, "mechanic").Staff, other); len(list) != 0 {
		t.Errorf("somebody else has it parked too: %+v", list)
	}
}
