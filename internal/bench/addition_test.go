package bench_test

import (
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/bench"
	"damperdesk/internal/check"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// add adds a service as a new act of the mechanic, who was told what it undoes.
func (d *desk) add(code string) error {
	a, err := bench.Preview(ctx, d.tx, d.by, d.sheet(), code)
	if err != nil {
		return err
	}
	return bench.AddService(ctx, d.tx, d.act(), d.job, code, a.UndoneIDs())
}

// soundly fails where the data break a rule; events are sealed at commit.
func (d *desk) soundly() {
	d.t.Helper()
	found, err := check.Run(ctx, d.tx)
	d.must(err)
	for _, f := range found {
		if !strings.HasPrefix(f.Name, "chained") && !strings.HasPrefix(f.Name, "every act has its cause: an intent") {
			d.t.Errorf("%s: %v", f.Name, f.Offenders)
		}
	}
}

// livings are the ids of the live sign-offs by the key of their step.
func (d *desk) livings() map[string]int64 {
	ids := map[string]int64{}
	for _, step := range d.sheet().Steps {
		if step.Done != nil {
			ids[step.Key] = step.Done.ID
		}
	}
	return ids
}

// giveCaps gives the spring's cap and oil, which the sheet is silent on, and
// buys a wrench that large.
func (d *desk) giveCaps() {
	d.t.Helper()
	d.must(bench.GiveValue(ctx, d.tx, d.act(), bench.Giving{StepID: d.step("P9").ID, SourceKind: spec.FromDocument, Source: "page 38",
		Value: quantity.Value{SI: 3e-6, Unit: quantity.Millilitre, Entered: "3"}, PlusSI: 1e-6, MinusSI: 1e-6, Fluid: "bath oil"}))
	d.must(bench.GiveValue(ctx, d.tx, d.act(), bench.Giving{StepID: d.step("P11").ID, SourceKind: spec.FromDocument, Source: "page 38",
		Value: quantity.Value{SI: 12, Unit: quantity.NewtonMetre, Entered: "12"}, PlusSI: 2, MinusSI: 2}))
}

func TestAServiceAddedOnTheWay(t *testing.T) {
	for _, c := range []struct {
		name, upTo string
		stage      string
		undone     []string
		next       string
	}{
		{"half way", "W3", job.OnBench, nil, "P1"},
		{"after closing", "Z9", job.OnBench, strings.Fields("S6 S7 S8 Z1 Z2 Z3 Z4 Z5 Z6 Z7 Z8 Z9"), "S6"},
		{"in the final check", "V3.compression", job.FinalCheck,
			strings.Fields("S5 S6 S7 S8 Z1 Z2 Z3 Z4 Z5 Z6 Z7 Z8 Z9 V1 V2 V3.rebound V3.compression"), "S5"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := withSheet(t, dbtest.Tx(t))
			d.start()
			d.signUpTo(c.upTo)
			if stage := d.sheet().Job.Stage; stage != c.stage {
				t.Fatalf("the job is %s", stage)
			}
			before, steps := d.livings(), len(d.sheet().Steps)
			planned, err := bench.Preview(ctx, d.tx, d.by, d.sheet(), "air-spring")
			d.must(err)
			d.must(d.add("air-spring"))
			d.soundly()
			d.undid(before, c.undone)
			sheet := d.sheet()
			if len(planned.Undone) != len(c.undone) || len(sheet.Steps) != steps+len(planned.Steps) {
				t.Errorf("planned were %d undone and %d steps; %d are there, %d before", len(planned.Undone), len(planned.Steps), len(sheet.Steps), steps)
			}
			if next, _ := sheet.Next(); next == nil || next.Key != c.next {
				t.Errorf("next is %v, want %s", next, c.next)
			}
			if sheet.Job.Stage != job.OnBench || !slices.Contains(sheet.Job.Services, "air-spring") {
				t.Errorf("the job is %s, its services %q", sheet.Job.Stage, sheet.Job.Services)
			}
			d.giveCaps()
			d.signUpTo("")
			d.soundly()
			if sheet := d.sheet(); sheet.Signed() != len(sheet.Steps) || sheet.Job.Stage != job.FinalCheck {
				t.Errorf("%d of %d signed, %s", sheet.Signed(), len(sheet.Steps), sheet.Job.Stage)
			}
		})
	}
}

// undid checks which of the sign-offs are crossed out for the service, and that
// each of the others is the one it was.
func (d *desk) undid(before map[string]int64, want []string) {
	d.t.Helper()
	now := d.livings()
	for key, id := range before {
		if gone := now[key] != id; gone != slices.Contains(want, key) {
			d.t.Errorf("%s is crossed out: %v", key, gone)
		}
	}
	for _, key := range want {
		crossed := d.step(key).Crossed
		if n := len(crossed); n != 1 || crossed[0].Why != "Air-spring service was added; this has to be done again." {
			d.t.Errorf("%s was crossed out: %+v", key, crossed)
		}
	}
	for _, step := range d.sheet().Steps {
		if added := step.AddedFor == "Air-spring service"; added != (step.Block == "P") {
			d.t.Errorf("%s came with %q", step.Key, step.AddedFor)
		}
	}
}

func TestAServiceIsNotAdded(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	tried := func(code string, by history.By) error {
		return d.tried(func(tx pgxTx) error { return bench.AddService(ctx, tx, dbtest.Act(t, tx, by), d.job, code, nil) })
	}
	clerk := dbtest.By(t, d.tx, "desk")
	d.start()
	d.signUpTo("S5")
	refused(t, "nobody knows it", tried("polish", d.by), "service: That service is not offered any more: choose again.")
	refused(t, "none", tried("", d.by), "service: Choose a service.")
	refused(t, "it has it", tried("lower-leg", d.by), "This job has “Lower-leg service” already.")
	refused(t, "by the desk once work has started", tried("air-spring", clerk),
		"Work has started: a service is added by a mechanic now, because what is signed may have to be done again.")
	d.must(d.add("air-spring"))
	refused(t, "twice", tried("air-spring", d.by), "This job has “Air-spring service” already.")
	refused(t, "another spring", tried("coil-spring", d.by), "service: “Coil-spring service” is not for a fork with an air spring: “Air-spring service” fits it.")
	if _, err := d.tx.Exec(ctx, "update service set kinds = '{rear shock}' where code = 'other'"); err != nil {
		t.Fatal(err)
	}
	refused(t, "for other units", tried("other", d.by), "service: “Other work, in own words” is not for a fork: choose another service.")
}

func TestAServiceThatBringsNothingIsNotAdded(t *testing.T) {
	d := newDesk(t, dbtest.Tx(t), 0)
	d.start()
	d.must(d.add("air-spring"))
	refused(t, "all of it there", d.tried(func(tx pgxTx) error { return bench.AddService(ctx, tx, d.act(), d.job, "coil-spring", nil) }),
		"service: All that “Coil-spring service” asks for is on the sheet already.")
}

func TestAReadyJobIsTakenBackBeforeAServiceIsAdded(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	must(t, dropped(t, d, customer.UnitDetails{Kind: "fork", ModelID: *d.sheet().Job.ModelID}, "lower-leg"))
	d.start()
	d.signUpTo("")
	d.must(job.SetRiderNote(ctx, d.tx, d.act(), d.job, "Smooth again."))
	d.must(bench.MakeReady(ctx, d.tx, d.act(), d.job))
	refused(t, "ready", d.tried(func(tx pgxTx) error { return bench.AddService(ctx, tx, d.act(), d.job, "air-spring", nil) }),
		"This job is ready for pickup; take it back to its final check first.")
	d.must(bench.Reopen(ctx, d.tx, d.act(), d.job, "It hisses."))
	d.must(d.add("air-spring"))
	d.soundly()
}

// Before work starts only the list of services grows, whoever adds.
func TestAServiceAddedBeforeWorkStarts(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.must(bench.AddService(ctx, d.tx, dbtest.By(t, d.tx, "desk"), d.job, "air-spring", nil))
	if sheet := d.sheet(); len(sheet.Steps) != 0 || !slices.Equal(sheet.Job.Services, []string{"lower-leg", "air-spring"}) {
		t.Errorf("%d steps, services %q", len(sheet.Steps), sheet.Job.Services)
	}
	d.start()
	if d.step("P1").AddedFor != "" {
		t.Error("a step that was there from the start is said to be added")
	}
	var origin string
	d.must(d.tx.QueryRow(ctx, "select origin from job_service where job_id = $1 and service_code = 'air-spring'", d.job).Scan(&origin))
	if origin != "added" {
		t.Errorf("the service came with %q", origin)
	}
}

// What an added service leaves signed is taken by a crossing-out by hand, and a
// stop-here crossed out by hand alone is found.
func TestTheRuleOfStopHeresStillHolds(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	d.signUpTo("V2")
	d.must(d.add("air-spring"))
	d.must(d.sign(d.expected(*d.step("S5"))))
	d.soundly()
	d.must(bench.CrossOut(ctx, d.tx, d.act(), d.job, d.step("S5").Done.ID, "It was not empty."))
	d.soundly()
	if d.step("W1").Done != nil {
		t.Error("W1 is signed after a stop-here that was crossed out by hand")
	}
	d.signUpTo("S8")
	act := d.act()
	_, err := d.tx.Exec(ctx, `insert into cross_out (signoff_id, step_id, role, reason, actor_id, intent_id, at) values ($1, $2, 'done', 'wrong', $3, $4, $5)`,
		d.step("S5").Done.ID, d.step("S5").ID, act.Staff, act.Intent, act.At)
	d.must(err)
	d.must(history.Append(ctx, d.tx, act, history.Event{SubjectKind: "job", SubjectID: d.job, Job: d.job, Kind: "test"}))
	found, err := check.Run(ctx, d.tx)
	d.must(err)
	if !slices.ContainsFunc(found, func(f check.Finding) bool {
		return strings.Contains(f.Name, "after an unsigned stop-here") && len(f.Offenders) == 3
	}) {
		t.Errorf("found %v, want S6, S7 and S8 after a stop-here that is not signed", found)
	}
}

// A sheet keeps what it was begun with: what came into a block since then comes
// with no service that is added.
func TestAnAddedServiceBringsNothingElseOfAChangedBlock(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	owner := dbtest.By(t, d.tx, "owner")
	must(t, procedure.BeginDraft(ctx, d.tx, owner, "W"))
	own := procedure.Step{Kind: procedure.Check, Title: "Blow dry", Text: "Until it is dry."}
	must(t, procedure.PutStep(ctx, d.tx, owner, "W", 1, own, "W2"))
	must(t, procedure.PutInForce(ctx, d.tx, owner, "W", 2, "They went together wet."))
	a, err := bench.Preview(ctx, d.tx, d.act(), d.sheet(), "air-spring")
	must(t, err)
	for _, s := range a.Steps {
		if s.Block != "P" {
			t.Errorf("the air-spring service brings %s", s.Key)
		}
	}
	if len(a.Steps) == 0 {
		t.Error("it brings nothing")
	}
}
