package bench_test

import (
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/job"
	"damperdesk/internal/quantity"
	"damperdesk/internal/stat"
)

// A unit counts once, by its last job that was done and is ready or gone.
func TestRiddenModel(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	modelID := *d.sheet().Job.ModelID
	ridden := func() []bench.Ridden {
		t.Helper()
		list, err := bench.RiddenModel(ctx, d.tx, modelID)
		must(t, err)
		return list
	}
	visit := func(kg float64, unitID int64) {
		t.Helper()
		order := job.DropOff{
			NewCustomer: customer.Details{Name: "Mirela Anttonen", Phone: "07700 900 141"},
			PromisedAt:  dbtest.Now.Add(4 * time.Hour), Currency: "GBP",
			Units: []job.DropOffUnit{{UnitID: unitID, RiderKG: &kg, Symptoms: []string{job.JustDue}, Services: []string{"lower-leg"}}},
		}
		if unitID == 0 {
			order.Units[0].NewUnit = customer.UnitDetails{Kind: "fork", ModelID: modelID}
		} else {
			u, err := customer.GetUnit(ctx, d.tx, unitID)
			must(t, err)
			order.CustomerID, order.NewCustomer = u.CustomerID, customer.Details{}
		}
		id, err := job.TakeIn(ctx, d.tx, d.act(), order)
		must(t, err)
		v, err := job.Visit(ctx, d.tx, id)
		must(t, err)
		d.job, d.unit = v.Jobs[0].ID, v.Jobs[0].UnitID
	}
	finish := func(psi float64) {
		t.Helper()
		d.start()
		d.signUpTo("V1")
		out := d.expected(*d.step("V2"))
		out.Value = &quantity.Value{SI: psi * 6894.757293168, Unit: quantity.PSI, Entered: "as pumped"}
		must(t, d.sign(out))
		d.signUpTo("")
		if list := ridden(); slices.ContainsFunc(list, func(r bench.Ridden) bool { return r.Number == d.sheet().Job.Number }) {
			t.Errorf("a job on the bench counts: %+v", list)
		}
		must(t, job.SetRiderNote(ctx, d.tx, d.act(), d.job, "Ridden in."))
		must(t, bench.MakeReady(ctx, d.tx, d.act(), d.job))
		must(t, job.HandOver(ctx, d.tx, d.act(), d.job, "the rider"))
	}
	visit(82, 0)
	finish(84)
	visit(80, d.unit)
	finish(79)
	visit(65, 0)
	finish(66)
	list := ridden()
	if len(list) != 2 || list[0].RiderKG != 65 || list[1].RiderKG != 80 || math.Abs(list[1].PressurePa-79*6894.757293168) > 1 {
		t.Errorf("ridden %+v; want 66 psi at 65 kg, and 79 at 80 for the unit that was here twice", list)
	}
}

// Advice is a line through what riders had; it takes six, and says nothing of
// riders lighter or heavier than those. The interval is proved in stat.
func TestAdvise(t *testing.T) {
	var list []bench.Ridden
	for _, kg := range []float64{60, 70, 75, 80, 90} {
		list = append(list, bench.Ridden{RiderKG: kg, PressurePa: 7000 * kg})
	}
	if _, err := bench.Advise(list, 75, 0.8); !errors.Is(err, stat.TooFew{Have: 5, Need: bench.LeastRidden}) {
		t.Errorf("of five: %v", err)
	}
	list = append(list, bench.Ridden{RiderKG: 100, PressurePa: 700000})
	a, err := bench.Advise(list, 85, 0.8)
	if err != nil || math.Abs(a.Pressure-595000) > 1e-6 || a.Between.High-a.Between.Low > 1e-6 {
		t.Errorf("on the line at 85 kg: %+v, %v; want 595000 Pa with nothing around it", a, err)
	}
	for _, kg := range []float64{59.9, 100.1} {
		if a, err := bench.Advise(list, kg, 0.8); !errors.Is(err, bench.ErrBeyond) || a.Line.Low != 60 || a.Line.High != 100 {
			t.Errorf("at %v kg: %+v, %v", kg, a, err)
		}
	}
	if _, err := bench.Advise(slices.Repeat(list[:1], 6), 60, 0.8); !errors.Is(err, bench.ErrOneWeight) {
		t.Errorf("six of one weight: %v", err)
	}
}
