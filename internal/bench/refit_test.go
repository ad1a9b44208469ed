package bench_test

import (
	"slices"
	"testing"

	"damperdesk/internal/bench"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/job"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// wholeBike is a desk with a bike that came whole, work on it started. Its
// spec sheet says nothing of stem, brake and axle.
func wholeBike(t testing.TB) *desk {
	t.Helper()
	d := withSheet(t, dbtest.Tx(t))
	d.bring("whole bike", *d.sheet().Job.ModelID)
	d.start()
	return d
}

// bring takes in one more unit and works on that one.
func (d *desk) bring(cameAs string, modelID int64) {
	d.t.Helper()
	id, err := job.TakeIn(ctx, d.tx, d.by, job.DropOff{
		NewCustomer: customer.Details{Name: "Kofi Lindgren", Phone: "07700 900 144"},
		PromisedAt:  dbtest.Now.AddDate(0, 0, 1), Currency: "GBP",
		Units: []job.DropOffUnit{{NewUnit: customer.UnitDetails{Kind: "fork", ModelID: modelID, ModelWords: "a fork of no known make"}, CameAs: cameAs,
			Symptoms: []string{job.JustDue}, Services: []string{"lower-leg"}}},
	})
	d.must(err)
	visit, err := job.Visit(ctx, d.tx, id)
	d.must(err)
	d.job, d.unit = visit.Jobs[0].ID, visit.Jobs[0].UnitID
}

func (d *desk) giving(key string, nm float64) bench.Giving {
	return bench.Giving{StepID: d.step(key).ID, Value: quantity.Value{SI: nm, Unit: quantity.NewtonMetre, Entered: "given"},
		MinusSI: 0.5, PlusSI: 0.5, SourceKind: spec.FromDocument, Source: "leaflet of the stem, page 2"}
}

func TestAStemNeedsItsMakersValue(t *testing.T) {
	d := wholeBike(t)
	for _, key := range []string{"R5", "R6", "R7"} {
		if !d.step(key).NeedsValue() {
			t.Errorf("%s has a value from a sheet that names none", key)
		}
	}
	for _, key := range []string{"R5", "R7"} {
		judged := d.giving(key, 5)
		judged.SourceKind, judged.Source = spec.FromJudgement, "the stem of another bike"
		refused(t, key+" judged", bench.GiveValue(ctx, d.tx, d.act(), judged),
			"source_kind: For this one only the maker’s document serves.")
	}
	d.signUpTo("R4")
	sign := bench.Signing{StepID: d.step("R5").ID, ToolID: d.wrench(), Value: &quantity.Value{SI: 5, Unit: quantity.NewtonMetre, Entered: "5"}}
	refused(t, "without a value", d.sign(sign), "value: There is no torque for this yet: give the value and its source first.")
	must(t, bench.GiveValue(ctx, d.tx, d.act(), d.giving("R5", 5)))
	must(t, d.sign(sign))
}

func TestARefitIsDoneAndCheckedItemByItem(t *testing.T) {
	d := wholeBike(t)
	must(t, bench.GiveValue(ctx, d.tx, d.act(), d.giving("R5", 5)))
	must(t, bench.GiveValue(ctx, d.tx, d.act(), d.giving("R6", 7)))
	d.signUpTo("R6")
	must(t, d.sign(bench.Signing{StepID: d.step("R7").ID, Outcome: bench.OutcomeNot, Reason: "closed by a lever"}))
	must(t, d.sign(bench.Signing{StepID: d.step("R7.lever").ID}))
	if err := d.sign(bench.Signing{StepID: d.step("R9.stem").ID}); err == nil {
		t.Error("the second check begins before the brake has been tried")
	}
	d.signUpTo("")
	must(t, job.SetRiderNote(ctx, d.tx, d.act(), d.job, "It is back in the bike and runs quietly."))

	lacks := d.sheet().Unready()
	want := []string{
		"Step " + seq(d, "R9.stem") + " waits for its second check: Stem tight and straight.",
		"Step " + seq(d, "R9.axle") + " waits for its second check: Axle in and tight.",
		"Step " + seq(d, "R9.brake") + " waits for its second check: Brake mounted and working.",
	}
	if !slices.Equal(lacks, want) {
		t.Fatalf("lacks %q, want %q", lacks, want)
	}
	check := func(key string) bench.Signing {
		return bench.Signing{StepID: d.step(key).ID, Role: bench.RoleChecked}
	}
	refused(t, "all at one press", bench.SignTogether(ctx, d.tx, d.act(), london, []bench.Signing{check("R9.axle"), check("R9.brake")}),
		"Step "+seq(d, "R9.axle")+" is signed on its own: a torque, a volume, a stop-here and a second check never share a press.")
	refused(t, "by who did it", d.sign(check("R9.stem")), "The second check is for another person than "+d.step("R9.stem").Done.Actor+".")
	other := dbtest.By(t, d.tx, "mechanic")
	must(t, bench.Sign(ctx, d.tx, other, london, check("R9.stem")))
	must(t, bench.Sign(ctx, d.tx, dbtest.Act(t, d.tx, other), london, check("R9.axle")))
	alone := check("R9.brake")
	alone.Alone = true
	refused(t, "alone without a reason", d.sign(alone), "reason: Say why nobody else could check it.")
	alone.Reason = "nobody else is in; looked again after the wheel"
	must(t, d.sign(alone))
	if by := d.step("R9.axle").Checked; by.Alone || by.ActorID != other.Staff || !d.step("R9.brake").Checked.Alone {
		t.Error("who checked alone does not show")
	}
	must(t, bench.MakeReady(ctx, d.tx, d.act(), d.job))
}

// A spec sheet that gives the axle a torque is of a threaded axle.
func TestTheSpecSheetTellsTheAxle(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	model := *d.sheet().Job.ModelID
	document, err := spec.AddDocument(ctx, d.tx, d.by, model, "Sill axle leaflet", "")
	must(t, err)
	axle := []spec.Value{{Key: "axle", Place: "axle", NominalSI: 12, MinusSI: 1, PlusSI: 1, ShownUnit: quantity.NewtonMetre, SourceKind: spec.FromDocument, DocumentID: &document}}
	sheet, err := spec.DraftSheet(ctx, d.tx, d.by, model, axle)
	must(t, err)
	must(t, spec.CheckSheet(ctx, d.tx, dbtest.By(t, d.tx, "owner"), sheet))
	d.bring("whole bike", model)
	d.start()
	s := d.sheet()
	if step := s.ByKey("R7"); step == nil || step.NominalSI == nil || *step.NominalSI != 12 || step.MayNotApply() {
		t.Errorf("axle %+v, want 12 N·m that always applies", step)
	}
	if s.ByKey("R7.lever") != nil {
		t.Error("the lever of a threaded axle is asked")
	}
}
