package bench_test

import (
	"strings"
	"sync"
	"testing"

	"damperdesk/internal/bench"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
)

// Of two tablets that sign one step at the same moment one wins; the other is
// told who it was. The invariants are checked when the clone goes.
func TestTwoTabletsSignOneStepAtOnce(t *testing.T) {
	t.Parallel()
	pool := dbtest.Clone(t)
	var d *desk
	var people [2]history.By
	must(t, db.Write(ctx, pool, func(tx pgxTx) error {
		d = withSheet(t, tx)
		d.start()
		people = [2]history.By{dbtest.By(t, tx, "mechanic"), dbtest.By(t, tx, "mechanic")}
		return nil
	}))
	sheet, err := bench.Get(ctx, pool, d.job)
	must(t, err)
	for _, step := range sheet.Steps[:6] {
		var wg sync.WaitGroup
		var errs [2]error
		g := bench.Signing{StepID: step.ID}
		if step.MayBeUnknown {
			g.Outcome = bench.OutcomeUnknown
		}
		for i, by := range people {
			wg.Go(func() {
				errs[i] = db.Write(ctx, pool, func(tx pgxTx) error { return bench.Sign(ctx, tx, dbtest.Act(t, tx, by), london, g) })
			})
		}
		wg.Wait()
		won, lost := errs[0], errs[1]
		if won != nil {
			won, lost = lost, won
		}
		if won != nil || lost == nil || !strings.HasPrefix(lost.Error(), "Signed by Somebody") || !strings.HasSuffix(lost.Error(), "at 14:12.") {
			t.Errorf("step %s: %v and %v; want one stored, the other told who signed", step.Key, errs[0], errs[1])
		}
	}
}

// Whoever comes first, nothing stays live after the stop-here that another
// tablet crosses out; the invariants are checked when the clone goes.
func TestAStopHereIsCrossedOutWhileAnotherSigns(t *testing.T) {
	t.Parallel()
	pool := dbtest.Clone(t)
	var d *desk
	must(t, db.Write(ctx, pool, func(tx pgxTx) error {
		d = withSheet(t, tx)
		d.start()
		d.signUpTo("S5")
		return nil
	}))
	for range 5 {
		sheet, err := bench.Get(ctx, pool, d.job)
		must(t, err)
		stop, after := sheet.ByKey("S5"), sheet.ByKey("S6")
		var wg sync.WaitGroup
		var crossed, signed error
		wg.Go(func() {
			crossed = db.Write(ctx, pool, func(tx pgxTx) error {
				return bench.CrossOut(ctx, tx, dbtest.Act(t, tx, d.by), d.job, stop.Done.ID, "pushed back")
			})
		})
		wg.Go(func() {
			signed = db.Write(ctx, pool, func(tx pgxTx) error {
				return bench.Sign(ctx, tx, dbtest.Act(t, tx, d.by), london, bench.Signing{StepID: after.ID})
			})
		})
		wg.Wait()
		must(t, crossed)
		if signed != nil && !strings.HasPrefix(signed.Error(), "Stop here: ") {
			t.Errorf("sign after the stop-here: %v, want stored or stop here", signed)
		}
		sheet, err = bench.Get(ctx, pool, d.job)
		must(t, err)
		if sheet.ByKey("S6").Done != nil {
			t.Error("the step after the stop-here is live")
		}
		must(t, db.Write(ctx, pool, func(tx pgxTx) error {
			return bench.Sign(ctx, tx, dbtest.Act(t, tx, d.by), london, bench.Signing{StepID: stop.ID})
		}))
	}
}
