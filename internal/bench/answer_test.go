package bench_test

import (
	"testing"

	"damperdesk/internal/bench"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
)

// found records something at the step of that key, of none for an empty one.
func (d *desk) found(key, grade, words string) bench.Finding {
	d.t.Helper()
	f := bench.Found{Grade: grade, Cause: bench.FoundSo, Words: words}
	if key == "" {
		d.must(bench.AddFinding(ctx, d.tx, d.act(), d.job, f))
	} else {
		g := d.expected(*d.step(key))
		g.Found = []bench.Found{f}
		d.must(d.sign(g))
	}
	list := d.sheet().Findings
	return list[len(list)-1]
}

func TestWhatIsPutRightStaysToBeReadAndStandsNoMore(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	d.signUpTo("V8")
	id := d.found("", bench.FoundUnsafe, "crown bolt loose").ID
	safe := bench.Signing{StepID: d.step("V9").ID, Grade: "safe to ride"}
	err := d.tried(func(tx pgxTx) error { return bench.Sign(ctx, tx, d.act(), london, safe) })
	refused(t, "safe to ride", err, "grade: The mechanic found “crown bolt loose”, do not ride. Choose a verdict that says so, or say on the sheet that it is put right or withdrawn.")

	refused(t, "without a word", bench.Mend(ctx, d.tx, d.act(), d.job, id, " "), "done: Say in a sentence what was done.")
	other := d.takeIn(customer.UnitDetails{Kind: "fork", ModelWords: "another fork"}).Jobs[0].ID
	refused(t, "by another job's page", bench.Mend(ctx, d.tx, d.act(), other, id, "torqued"), "There is no such finding on this job.")
	refused(t, "the front desk", bench.Mend(ctx, d.tx, dbtest.By(t, d.tx, "desk"), d.job, id, "torqued"), "Only a mechanic works on a bench sheet.")
	must(t, bench.Mend(ctx, d.tx, d.act(), d.job, id, " Torqued to the sheet. "))
	refused(t, "twice", bench.Mend(ctx, d.tx, d.act(), d.job, id, "again"), "This finding is put right already.")
	refused(t, "withdrawn afterwards", bench.Withdraw(ctx, d.tx, d.act(), d.job, id, "why"), "This finding is put right already.")

	f := d.sheet().Findings[0]
	if f.Answer != bench.PutRight || f.AnswerWords != "Torqued to the sheet." || f.AnswerBy == "" || f.AnswerAt == nil || f.Words != "crown bolt loose" {
		t.Errorf("after mending: %+v; want the original with what was done, by whom and when", f)
	}
	must(t, d.sign(safe))
	if got := len(d.sheet().Findings); got != 1 {
		t.Errorf("%d findings on the sheet, want the one that was put right", got)
	}
}

// Whoever looked at an axle, a stem or a brake before it was mended looks
// again: common practice (no source).
func TestASecondLookComesAfterWhatIsPutRight(t *testing.T) {
	for _, c := range []struct {
		at, grade string
		again     bool
	}{
		{"R9.axle", bench.FoundUnsafe, true},
		{"R7", bench.FoundUnsafe, true},
		{"R9.axle", bench.FoundDue, false},
		{"R10", bench.FoundUnsafe, false},
	} {
		t.Run(c.grade+" at "+c.at, func(t *testing.T) {
			d := wholeBike(t)
			for key, nm := range map[string]float64{"R5": 5, "R6": 7, "R7": 12} {
				must(t, bench.GiveValue(ctx, d.tx, d.act(), d.giving(key, nm)))
			}
			before := map[string]string{"R9.axle": "R9.stem", "R7": "R6", "R10": "R9.brake"}[c.at]
			d.signUpTo(before)
			f := d.found(c.at, c.grade, "axle thread pulled")
			d.signUpTo("R9.axle")
			axle := d.step("R9.axle").ID
			must(t, bench.Check(ctx, d.tx, dbtest.By(t, d.tx, "mechanic"), london, d.job, bench.Checking{Steps: []int64{axle}}))
			must(t, bench.Mend(ctx, d.tx, d.act(), d.job, f.ID, "new axle"))
			step := d.step("R9.axle")
			if step.Done == nil || (step.Checked == nil) != c.again {
				t.Fatalf("done %v, checked %v; want it done, to be checked again: %v", step.Done != nil, step.Checked != nil, c.again)
			}
			if c.again && step.Crossed[0].Why != "Put right since: new axle" {
				t.Errorf("the second check is crossed out for %q", step.Crossed[0].Why)
			}
		})
	}
}
