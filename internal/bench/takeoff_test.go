package bench_test

import (
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/bench"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/job"
)

// takeOff takes a service off as a new act of the mechanic, who was told which
// steps go.
func (d *desk) takeOff(code, reason string) error {
	r, err := bench.PreviewTakeOff(ctx, d.tx, d.by, d.sheet(), code)
	if err != nil {
		return err
	}
	return bench.TakeOffService(ctx, d.tx, d.act(), d.job, code, reason, r.StepIDs())
}

func keysOf(steps []bench.Step) string {
	var keys []string
	for _, step := range steps {
		keys = append(keys, step.Key)
	}
	return strings.Join(keys, " ")
}

// What adding undid stays to be signed again: common practice (no source).
func TestAnAddedServiceIsTakenOffAgain(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	d.signUpTo("Z9")
	before := keysOf(d.sheet().Steps)
	d.must(d.add("air-spring"))
	spring := 0
	for _, step := range d.sheet().Steps {
		if step.Block == "P" {
			spring++
		}
	}
	r, err := bench.PreviewTakeOff(ctx, d.tx, d.by, d.sheet(), "air-spring")
	d.must(err)
	if got, want := keysOf(r.Again), "S6 S7 S8 Z1 Z2 Z3 Z4 Z5 Z6 Z7 Z8 Z9"; got != want {
		t.Errorf("to be signed again: %s, want %s", got, want)
	}
	d.must(d.takeOff("air-spring", "The wrong job."))
	d.soundly()
	sheet := d.sheet()
	if keysOf(sheet.Steps) != before || len(sheet.NotAsked) != spring || !slices.Equal(sheet.Job.Services, []string{"lower-leg"}) {
		t.Errorf("steps %s, %d not asked, services %q", keysOf(sheet.Steps), len(sheet.NotAsked), sheet.Job.Services)
	}
	if next, _ := sheet.Next(); next.Key != "S6" || sheet.Steps[len(sheet.Steps)-1].Seq != len(sheet.Steps) {
		t.Errorf("next is %s, and the last step has number %d of %d", next.Key, sheet.Steps[len(sheet.Steps)-1].Seq, len(sheet.Steps))
	}
	off := d.sheet().Job.TakenOff
	if len(off) != 1 || off[0].Service != "Air-spring service" || off[0].Reason != "The wrong job." {
		t.Errorf("taken off: %+v", off)
	}
	rows, err := job.Board(ctx, d.tx, job.BoardFilter{})
	d.must(err)
	if rows[0].Steps != len(sheet.Steps) {
		t.Errorf("the board counts %d steps, the sheet %d", rows[0].Steps, len(sheet.Steps))
	}
	d.signUpTo("")
	d.soundly()
	if sheet := d.sheet(); sheet.Signed() != len(sheet.Steps) || sheet.Job.Stage != job.FinalCheck {
		t.Errorf("%d of %d signed, %s", sheet.Signed(), len(sheet.Steps), sheet.Job.Stage)
	}
}

// The lines of a service taken off by mistake are asked again where they were,
// also when the fork went on meanwhile.
func TestAServiceTakenOffIsAddedOnceMore(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	d.must(d.add("air-spring"))
	with := keysOf(d.sheet().Steps)
	d.must(d.takeOff("air-spring", "The wrong job."))
	d.signUpTo("W3")
	d.must(d.add("air-spring"))
	d.soundly()
	if sheet := d.sheet(); keysOf(sheet.Steps) != with || len(sheet.NotAsked) != 0 {
		t.Errorf("the steps are %s, want %s", keysOf(sheet.Steps), with)
	}
	if step := d.step("P1"); step.AddedFor != "Air-spring service" {
		t.Errorf("P1 came with %q", step.AddedFor)
	}
	d.giveCaps()
	d.signUpTo("")
	d.soundly()
}

func TestAServiceIsNotTakenOff(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	tried := func(code, reason string, told []int64) error {
		return d.tried(func(tx pgxTx) error { return bench.TakeOffService(ctx, tx, d.act(), d.job, code, reason, told) })
	}
	refused(t, "the only one", tried("lower-leg", "wrong", nil),
		"service: “Lower-leg service” is the only service of this job: add the right one first, then take this one off.")
	refused(t, "one it has not", tried("air-spring", "wrong", nil), "This job does not have that service any more.")
	d.must(d.add("air-spring"))
	r, err := bench.PreviewTakeOff(ctx, d.tx, d.by, d.sheet(), "air-spring")
	d.must(err)
	refused(t, "without a reason", tried("air-spring", " ", r.StepIDs()), "reason: Say why it is taken off.")
	refused(t, "with other steps than told", tried("air-spring", "wrong", nil),
		"The sheet changed meanwhile, and other steps would go: look again at what changes.")
	refused(t, "by the desk", d.tried(func(tx pgxTx) error {
		return bench.TakeOffService(ctx, tx, dbtest.By(t, tx, "desk"), d.job, "air-spring", "wrong", r.StepIDs())
	}), "Work has started: a service is taken off by a mechanic now, who knows what has been done of it.")
	d.signUpTo("P1")
	stays := "“Air-spring service” stays: its step " + seq(d, "P1") + ", “" + d.step("P1").Title + "”, was signed or something was found there, so that work on it has begun."
	refused(t, "signed", d.takeOff("air-spring", "wrong"), stays)
	d.must(bench.CrossOut(ctx, d.tx, d.act(), d.job, d.step("P1").Done.ID, "It was not."))
	refused(t, "signed and crossed out", d.takeOff("air-spring", "wrong"), stays)
}

// Before work starts only the list of services shrinks, whoever takes one off.
func TestAServiceTakenOffBeforeWorkStarts(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	clerk := dbtest.By(t, d.tx, "desk")
	d.must(bench.AddService(ctx, d.tx, clerk, d.job, "air-spring", nil))
	d.must(bench.TakeOffService(ctx, d.tx, dbtest.Act(t, d.tx, clerk), d.job, "lower-leg", "The spring service has it all.", nil))
	d.soundly()
	if got := d.sheet().Job.Services; !slices.Equal(got, []string{"air-spring"}) {
		t.Errorf("services %q", got)
	}
}
