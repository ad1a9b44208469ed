package bench_test

import (
	"math"
	"testing"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
)

// The preload of a coil is the rider's as the clicks of a damper are: common
// practice (no source).
func TestTheTurnsOfACoilAreASettingOfTheRider(t *testing.T) {
	came, left := 3.0, 2.0
	in := bench.Step{Key: "A5.preload", Kind: procedure.Count, SpecKey: "preload turns", Done: &bench.Signoff{Outcome: bench.OutcomeDone, Count: &came}}
	out := bench.Step{Key: "V3.preload", Kind: procedure.Count, SpecKey: "preload turns"}
	sheet := bench.Sheet{Steps: []bench.Step{in, out}}
	if turns, ok := sheet.Expected(&sheet.Steps[1]); !ok || turns != 3 {
		t.Errorf("going back it begins at %v, %v; it came with 3", turns, ok)
	}
	if list := sheet.Settings(); len(list) != 1 || list[0].Name != "Preload" || list[0].Settled() {
		t.Errorf("before it goes back: %+v", list)
	}
	sheet.Steps[1].Done = &bench.Signoff{Outcome: bench.OutcomeDone, Count: &left}
	if list := sheet.Settings(); len(list) != 1 || !list[0].Settled() || *list[0].Received.Count != 3 || *list[0].Returned.Count != 2 {
		t.Errorf("as it goes back: %+v", list)
	}
	if list := sheet.Measured(); len(list) > 0 {
		t.Errorf("a setting stands among what was measured: %+v", list)
	}
}

func TestEarlierReadingsAreThoseOfTheUnit(t *testing.T) {
	tx := dbtest.Tx(t)
	d := withSheet(t, tx)
	read := func(psi float64) bench.Signing {
		return bench.Signing{StepID: d.step("A4").ID, Value: &quantity.Value{SI: psi * 6894.757, Unit: quantity.PSI, Entered: "as named"}}
	}
	earlier := func(key string) []bench.Earlier {
		sheet := d.sheet()
		by, err := bench.EarlierAt(ctx, tx, sheet, []*bench.Step{sheet.ByKey(key)})
		d.must(err)
		return by[key]
	}
	var first int64
	for i, psi := range []float64{78, 74} {
		d.start()
		if i == 0 {
			first = d.job
			d.must(d.sign(read(60)))
			d.must(bench.CrossOut(ctx, tx, d.act(), d.job, d.step("A4").Done.ID, "another fork"))
		}
		d.must(d.sign(read(psi)))
		d.must(job.Cancel(ctx, tx, d.act(), d.job, "no fault found", "as the rider wished"))
		visit, err := job.TakeIn(ctx, tx, d.act(), job.DropOff{CustomerID: d.sheet().Job.CustomerID, PromisedAt: dbtest.Now.Add(4 * time.Hour), Currency: "GBP",
			Units: []job.DropOffUnit{{UnitID: d.unit, Symptoms: []string{job.JustDue}, Services: []string{"lower-leg"}}}})
		d.must(err)
		v, err := job.Visit(ctx, tx, visit)
		d.must(err)
		d.job = v.Jobs[0].ID
	}
	d.start()
	got := earlier("A4")
	if len(got) != 2 || got[0].JobID != first || math.Abs(*got[0].ValueSI/6894.757-78) > 1e-9 || math.Abs(*got[1].ValueSI/6894.757-74) > 1e-9 {
		t.Errorf("read before: %+v, want 78 psi, then 74 psi, without what was crossed out", got)
	}
	if got := earlier("A1"); got != nil {
		t.Errorf("a plain check has readings: %+v", got)
	}
}
