package bench_test

import (
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/bench"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/job"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

func TestStartCopiesFilledSteps(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	s := d.sheet()
	if s.Job.Stage != job.OnBench || s.Job.MechanicID == nil || *s.Job.MechanicID != d.by.Staff {
		t.Errorf("stage %s, mechanic %v; want on the bench with whoever started", s.Job.Stage, s.Job.MechanicID)
	}
	foot := d.step("Z7")
	if w, ok := foot.Window(); !ok || w != (bench.Window{Nominal: 7.3, Minus: 0.5, Plus: 0.5}) {
		t.Errorf("foot torque %+v, want 7.3 from 6.8 to 7.8", w)
	}
	if want := "Sill service manual, 3rd edition, page 41"; foot.Source != want || foot.ShownUnit != quantity.NewtonMetre {
		t.Errorf("foot source %q in %s, want %q in N·m", foot.Source, foot.ShownUnit, want)
	}
	if oil := d.step("Z3"); oil.Fluid != "bath oil, 10 weight" || *oil.NominalSI != 10e-6 {
		t.Errorf("oil %v of %q, want 1e-5 m³ of bath oil, 10 weight", *oil.NominalSI, oil.Fluid)
	}
	if in := d.step("A4"); in.NominalSI != nil || in.ShownUnit != quantity.PSI {
		t.Errorf("pressure as received has a value %v in %s, want none, in psi", in.NominalSI, in.ShownUnit)
	}
	if !slices.IsSortedFunc(s.Steps, func(a, b bench.Step) int { return a.Seq - b.Seq }) || s.Steps[0].Key != "A1" {
		t.Error("steps are not in order from A1 on")
	}
	refused(t, "start again", d.tried(func(tx pgxTx) error { return bench.Start(ctx, tx, d.by, d.job) }), "The bench sheet of this job exists already.")
}

func TestAnOldSheetNeverChanges(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	values := []spec.Value{{Key: "foot bolt", NominalSI: 9, ShownUnit: quantity.NewtonMetre, SourceKind: spec.FromJudgement, SourceWords: "the Ledge of 2022"}}
	sheet, err := spec.DraftSheet(ctx, d.tx, d.by, *d.sheet().Job.ModelID, values)
	must(t, err)
	must(t, spec.CheckSheet(ctx, d.tx, dbtest.By(t, d.tx, "owner"), sheet))
	if got := *d.step("Z7").NominalSI; got != 7.3 {
		t.Errorf("foot torque is %v after a new spec sheet, want 7.3 as copied", got)
	}
}

func TestStartWithoutAModelAsksAll(t *testing.T) {
	d := newDesk(t, dbtest.Tx(t), 0)
	d.start()
	for _, key := range []string{"A5.rebound", "A5.compression", "S5", "Z3", "Z4"} {
		d.step(key)
	}
	if foot := d.step("Z7"); foot.NominalSI != nil || foot.Source != "" || !foot.NeedsValue() {
		t.Errorf("foot torque %+v, want none without a spec sheet", foot)
	}
}

func TestStartIsForAMechanicAndAJobThatWaits(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	front := dbtest.By(t, d.tx, "desk")
	refused(t, "the front desk", bench.Start(ctx, d.tx, front, d.job), "Only a mechanic works on a bench sheet.")
	must(t, job.Cancel(ctx, d.tx, d.act(), d.job, "returned undone", "rider changed his mind"))
	refused(t, "a cancelled job", bench.Start(ctx, d.tx, d.act(), d.job), "Work starts on a job that is here and waits for it; this one is cancelled.")
}

func TestStartLeavesTheJobWithItsMechanic(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	other := dbtest.By(t, d.tx, "mechanic")
	must(t, job.Assign(ctx, d.tx, d.act(), d.job, d.sheet().Job.Version, &other.Staff))
	d.start()
	if got := d.sheet().Job.MechanicID; got == nil || *got != other.Staff {
		t.Errorf("mechanic %v, want %d as assigned", got, other.Staff)
	}
}

func TestASignedStepSaysWhoAndWhen(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	step := d.step("A1")
	must(t, d.sign(bench.Signing{StepID: step.ID}))
	signed := d.step("A1").Done
	if signed == nil || signed.How != bench.HowSeen || signed.ActorID != d.by.Staff {
		t.Fatalf("stored %+v, want seen by the mechanic", signed)
	}
	// dbtest.Now is 14:12 in London.
	refused(t, "sign again", d.sign(bench.Signing{StepID: step.ID}), "Signed by "+signed.Actor+" at 14:12.")
}

func TestNothingIsSignedAfterAnOpenStopHere(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	d.signUpTo("S4")
	err := d.sign(d.expected(*d.step("S6")))
	if err == nil || !strings.HasPrefix(err.Error(), "Stop here: step ") {
		t.Errorf("knob off before the air is out: %v, want stop here", err)
	}
	d.signUpTo("S5")
	must(t, d.sign(d.expected(*d.step("S6"))))
}

func TestOutsideTheWindowOnlyWithAReason(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	d.signUpTo("Z2")
	over := d.expected(*d.step("Z3"))
	over.Value = &quantity.Value{SI: 12.5e-6, Unit: quantity.Millilitre, Entered: "12.5"}
	refused(t, "12.5 mL", d.sign(over), "reason: 12.5\u00a0mL is outside 9 to 11\u00a0mL: say why.")
	over.Reason = "ran past the shaft, topped up"
	must(t, d.sign(over))
	done := d.step("Z3").Done
	if done.InWindow || *done.ValueSI != 12.5e-6 || done.Entered != "12.5" || done.Fluid != "bath oil, 10 weight" || done.Reason != over.Reason {
		t.Errorf("stored %+v, want 12.5 as typed, outside, with fluid and reason", done)
	}
}

func TestTheFinalCheckBeginsAndIsKept(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	first := d.step("V1")
	d.signUpTo("Z8")
	if err := d.sign(d.expected(*first)); err == nil {
		t.Error("full travel signed before the knob is on")
	}
	d.signUpTo("Z9")
	if got := d.sheet().Job.Stage; got != job.OnBench {
		t.Errorf("before the final check the job is %s, want on the bench", got)
	}
	d.signUpTo("V1")
	if got := d.sheet().Job.Stage; got != job.FinalCheck {
		t.Errorf("after its first line the job is %s, want final check", got)
	}
	must(t, bench.CrossOut(ctx, d.tx, d.act(), d.job, d.step("W5").Done.ID, "left wiper nicked"))
	s := d.sheet()
	if s.Job.Stage != job.FinalCheck || len(s.Unready()) == 0 {
		t.Errorf("after a crossing-out the job is %s and lacks %v; want final check, not ready", s.Job.Stage, s.Unready())
	}
}

func TestCrossingOutAStopHereTakesAllAfterIt(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	d.signUpTo("Z4")
	stop := d.step("Z1")
	must(t, bench.CrossOut(ctx, d.tx, d.act(), d.job, stop.Done.ID, " spring in the wrong leg "))
	for _, step := range d.sheet().Steps {
		switch live := step.Done != nil; {
		case step.Seq < stop.Seq && !live:
			t.Errorf("%s before the stop-here is crossed out too", step.Key)
		case step.Seq >= stop.Seq && live:
			t.Errorf("%s is still live after its stop-here was crossed out", step.Key)
		}
	}
	for _, key := range []string{"Z1", "Z2", "Z3", "Z4"} {
		crossed := d.step(key).Crossed
		if len(crossed) != 1 || crossed[0].Why != "spring in the wrong leg" || crossed[0].Actor == "" {
			t.Errorf("%s: crossed out %+v, want the original with the reason", key, crossed)
		}
	}
	refused(t, "cross out again", bench.CrossOut(ctx, d.tx, d.act(), d.job, stop.Done.ID, "again"), "This sign-off is crossed out already.")
	d.signUpTo("Z4")
	if got := d.step("Z3"); got.Done == nil || len(got.Crossed) != 1 || !got.Crossed[0].Replaced {
		t.Errorf("oil signed anew: %+v, want live and the old one replaced", got)
	}
	must(t, bench.CrossOut(ctx, d.tx, d.act(), d.job, d.step("Z4").Done.ID, "again"))
	d.signUpTo("Z4")
}

func TestCrossingOutNeedsAReasonAndAMechanic(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	d.signUpTo("A1")
	id := d.step("A1").Done.ID
	refused(t, "no reason", bench.CrossOut(ctx, d.tx, d.act(), d.job, id, " "), "reason: Say why it is crossed out.")
	refused(t, "the front desk", bench.CrossOut(ctx, d.tx, dbtest.By(t, d.tx, "desk"), d.job, id, "why"), "Only a mechanic works on a bench sheet.")
	refused(t, "no such sign-off", bench.CrossOut(ctx, d.tx, d.act(), d.job, id+1000, "why"), "There is no such sign-off on this job.")
	other := d.takeIn(customer.UnitDetails{Kind: "fork", ModelWords: "another fork"}).Jobs[0].ID
	refused(t, "by another job's page", bench.CrossOut(ctx, d.tx, d.act(), other, id, "why"), "There is no such sign-off on this job.")
}

// addSecondCheck puts a step with a second check at the end of the strip.
func (d *desk) addSecondCheck() *bench.Step {
	d.t.Helper()
	_, err := d.tx.Exec(ctx, `insert into sheet_step (job_id, rank, block, block_title, key, kind, title, text, second_check, intent_id, at)
		values ($1, 200, 'R', 'Refit', 'R9', 'check', 'Stem, axle and brake', 'Tick one by one.', true, $2, $3)`, d.job, d.by.Intent, d.by.At)
	d.must(err)
	return d.step("R9")
}

func TestTheSecondCheck(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	step := d.addSecondCheck()
	d.signUpTo("Z1")
	check := bench.Signing{StepID: step.ID, Role: bench.RoleChecked}
	refused(t, "before it is done", d.sign(check), "The step has to be done before somebody checks it.")
	must(t, d.sign(bench.Signing{StepID: step.ID}))
	name := d.step("R9").Done.Actor
	refused(t, "the same person", d.sign(check), "The second check is for another person than "+name+".")
	other := dbtest.By(t, d.tx, "mechanic")
	must(t, bench.Sign(ctx, d.tx, other, london, check))
	if got := d.step("R9"); got.Checked == nil || got.Checked.ActorID != other.Staff || got.Checked.Alone {
		t.Errorf("checked %+v, want by the other person", got.Checked)
	}
	must(t, bench.CrossOut(ctx, d.tx, d.act(), d.job, d.step("R9").Done.ID, "brake bolt forgotten"))
	if got := d.step("R9"); got.Done != nil || got.Checked != nil || len(got.Crossed) != 2 {
		t.Errorf("after crossing out what was done: %+v, want its check gone too", got)
	}
	must(t, d.sign(bench.Signing{StepID: step.ID}))
	alone := check
	alone.Alone, alone.Reason = true, "nobody else is in; looked again after the wheel"
	refused(t, "alone at once", d.sign(alone), "alone: Step "+seq(d, "R9")+" was done only just now: do other work first, or look again at 14:22.")
	must(t, d.sign(bench.Signing{StepID: d.step("Z2").ID}))
	must(t, d.sign(alone))
	if got := d.step("R9").Checked; got == nil || !got.Alone {
		t.Errorf("checked %+v, want marked as alone", got)
	}
}

func TestSignedTogetherIsAllOrNothing(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	list := func(keys ...string) (gs []bench.Signing) {
		for _, key := range keys {
			gs = append(gs, d.expected(*d.step(key)))
		}
		return gs
	}
	by := d.act()
	must(t, bench.SignTogether(ctx, d.tx, by, london, list("A1", "A2", "A3")))
	for _, key := range []string{"A1", "A2", "A3"} {
		if done := d.step(key).Done; done == nil || done.Together == nil || *done.Together != by.Intent {
			t.Errorf("%s: %+v, want signed together under one id", key, done)
		}
	}
	bad := list("A6", "A7")
	bad[1].Grade = "shiny"
	err := d.tried(func(tx pgxTx) error { return bench.SignTogether(ctx, tx, d.by, london, bad) })
	if err == nil || d.step("A6").Done != nil {
		t.Errorf("one line cannot be taken: %v, and A6 is %v; want none stored", err, d.step("A6").Done)
	}
	refused(t, "nothing ticked", bench.SignTogether(ctx, d.tx, d.act(), london, nil), "Nothing is answered and filled in yet.")
}

func TestAValueGivenAtTheBench(t *testing.T) {
	d := newDesk(t, dbtest.Tx(t), 0)
	d.start()
	d.signUpTo("Z2")
	g := bench.Signing{StepID: d.step("Z7").ID, ToolID: d.wrench(), Value: &quantity.Value{SI: 7.3, Unit: quantity.NewtonMetre, Entered: "7.3"}}
	refused(t, "a torque without a source", d.sign(g), "value: There is no torque for this yet: give the value and its source first.")
	give := func(nm float64) bench.Giving {
		return bench.Giving{StepID: g.StepID, Value: quantity.Value{SI: nm, Unit: quantity.NewtonMetre, Entered: "given"}, MinusSI: 0.5, PlusSI: 0.5,
			SourceKind: spec.FromJudgement, Source: "the same foot of another year"}
	}
	must(t, bench.GiveValue(ctx, d.tx, d.act(), give(6)))
	must(t, bench.GiveValue(ctx, d.tx, d.act(), give(7.3)))
	step := d.step("Z7")
	if !step.GivenHere || *step.NominalSI != 7.3 || !strings.HasPrefix(step.Source, "own judgement of Somebody") ||
		!strings.HasSuffix(step.Source, ", by comparison with the same foot of another year") {
		t.Errorf("given %v from %q, want the newest with its source", step.NominalSI, step.Source)
	}
	must(t, d.sign(g))
	refused(t, "after the signing", bench.GiveValue(ctx, d.tx, d.act(), give(8)), "This step is signed; cross its sign-off out before giving another value.")

	known := withSheet(t, d.tx)
	known.start()
	over := give(8)
	over.StepID = known.step("Z7").ID
	refused(t, "where the spec sheet has one", bench.GiveValue(ctx, d.tx, known.act(), over), "The spec sheet has a value for this step.")
}

func TestNeverAboveTheMaximumPressure(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	d.signUpTo("V1")
	psi := func(number float64) bench.Signing {
		v, err := quantity.FromUnit(quantity.KindPressure, number, quantity.PSI)
		must(t, err)
		return bench.Signing{StepID: d.step("V2").ID, Value: &quantity.Value{SI: v, Unit: quantity.PSI, Entered: "typed"}, Reason: "heavy rider"}
	}
	refused(t, "125 psi", d.sign(psi(125)), "value: Never above the maximum on the spec sheet, 120\u00a0psi.")
	must(t, d.sign(psi(96)))
	if done := d.step("V2").Done; !done.InWindow {
		t.Error("a rider's pressure away from the sheet's is called outside a window")
	}
}

func TestReadyForPickup(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	ready := func() error {
		return d.tried(func(tx pgxTx) error { return bench.MakeReady(ctx, tx, d.by, d.job) })
	}
	refused(t, "while on the bench", ready(), "Only a job in its final check becomes ready for pickup; this one is on the bench.")
	d.signUpTo("V8")
	refused(t, "without verdict and note", ready(), "Step "+seq(d, "V9")+" is not signed: Say whether it is safe to ride. Write the rider’s note.")
	d.signUpTo("")
	refused(t, "without a note", ready(), "Write the rider’s note.")
	must(t, job.SetRiderNote(ctx, d.tx, d.act(), d.job, "It was dry inside and is smooth again."))
	must(t, job.Hold(ctx, d.tx, d.act(), d.job, job.WaitingOnCustomer, "", nil))
	refused(t, "while it waits", ready(), "The job is waiting on customer.")
	must(t, job.EndHold(ctx, d.tx, d.act(), d.job, d.sheet().Job.Holds[0].ID))
	must(t, bench.MakeReady(ctx, d.tx, d.act(), d.job))
	if got := d.sheet().Job.Stage; got != job.Ready {
		t.Fatalf("the job is %s, want ready for pickup", got)
	}
	done := d.step("Z7").Done.ID
	refused(t, "cross out", bench.CrossOut(ctx, d.tx, d.act(), d.job, done, "why"), "This job is ready for pickup; take it back to its final check first.")
	refused(t, "reopen without a reason", bench.Reopen(ctx, d.tx, d.act(), d.job, ""), "reason: Say why it goes back.")
	must(t, bench.Reopen(ctx, d.tx, d.act(), d.job, "left foot weeps"))
	must(t, bench.CrossOut(ctx, d.tx, d.act(), d.job, done, "left foot weeps"))
	if got := d.sheet().Unready(); len(got) != 1 {
		t.Errorf("after reopening it lacks %v, want the foot alone", got)
	}
}

func TestSettingsAndMeasured(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	unknown := d.expected(*d.step("A5.compression"))
	unknown.Outcome = bench.OutcomeUnknown
	d.signUpTo("A5.rebound")
	must(t, d.sign(unknown))
	d.signUpTo("V3.rebound")
	settings, err := bench.Settings(ctx, d.tx, d.job)
	must(t, err)
	var names []string
	for _, s := range settings {
		names = append(names, s.Name)
	}
	if !slices.Equal(names, []string{"Pressure", "Rebound", "Compression"}) {
		t.Fatalf("settings %v", names)
	}
	if p := settings[0]; p.Received == nil || p.Returned == nil || p.Returned.ShownUnit != quantity.PSI || !p.Settled() {
		t.Errorf("pressure %+v, want both sides in psi", p)
	}
	if c := settings[2]; c.Received.Outcome != bench.OutcomeUnknown || c.Returned != nil || c.Settled() {
		t.Errorf("compression %+v, want unknown as received and not yet returned", c)
	}
	measured, err := bench.Measured(ctx, d.tx, d.job)
	must(t, err)
	var keys []string
	for _, step := range measured {
		keys = append(keys, step.Key)
	}
	for _, key := range []string{"A6", "S9.left", "Z3", "Z7", "Z9", "V1"} {
		if !slices.Contains(keys, key) {
			t.Errorf("measured %v, want %s among them", keys, key)
		}
	}
	for _, key := range []string{"A4", "V2", "S5"} {
		if slices.Contains(keys, key) {
			t.Errorf("measured %v, want %s not among them", keys, key)
		}
	}
}

func TestWhatIsOpenForAMechanic(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	if _, err := bench.OldestOpenFor(ctx, d.tx, d.by.Staff); err == nil {
		t.Error("something is open before work has started")
	}
	d.start()
	d.signUpTo("A3")
	first, err := bench.OldestOpenFor(ctx, d.tx, d.by.Staff)
	must(t, err)
	if first.ID != d.job || first.Signed != 3 || first.Steps != len(d.sheet().Steps) {
		t.Errorf("open %+v, want the job with 3 signed", first)
	}
	nobody := dbtest.By(t, d.tx, "mechanic")
	list, err := bench.OpenFor(ctx, d.tx, &nobody.Staff)
	must(t, err)
	if len(list) != 0 {
		t.Errorf("another mechanic has %v on the bench", list)
	}
}
