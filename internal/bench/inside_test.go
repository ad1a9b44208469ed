package bench_test

import (
	"errors"
	"testing"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/job"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// ofUnit is the unit of the desk's job.
func (d *desk) ofUnit() customer.Unit {
	d.t.Helper()
	u, err := customer.GetUnit(ctx, d.tx, d.sheet().Job.UnitID)
	d.must(err)
	return u
}

func (d *desk) own(key, place, kind, words string, si float64, unit quantity.Unit) {
	d.t.Helper()
	k, _ := spec.Find(key)
	v := spec.Value{Key: key, Place: place, NominalSI: si, ShownUnit: unit, SourceKind: kind, SourceWords: words}
	if k.Kind == quantity.KindVolume {
		v.Fluid = "bath oil"
	}
	d.must(spec.PutUnitValue(ctx, d.tx, d.act(), d.ofUnit().ID, spec.Model{Kind: "fork"}, v))
}

// A fork that somebody turned to coil is worked on as one, whatever its model.
func TestTheStepsFollowTheForkAsItIsInside(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	travel := 120
	d.must(spec.PutInside(ctx, d.tx, d.act(), d.ofUnit().ID, 0, spec.Inside{Spring: "coil", TravelMM: &travel}))
	d.own("lower-leg oil", "foot-left", spec.FromJudgement, "the Ledge", 20e-6, quantity.Millilitre)
	if u := d.ofUnit(); u.Spring != "coil" || u.TravelMM != 120 {
		t.Errorf("the unit is said to be %s, %d mm", u.Spring, u.TravelMM)
	}
	d.start()
	if s := d.sheet(); s.ByKey("V2") != nil || s.ByKey("A4") != nil {
		t.Error("a coil fork is asked for its air")
	}
	left, right := d.step("Z3"), d.step("Z4")
	if *left.NominalSI != 20e-6 || left.Source != "this fork: own judgement of "+d.name()+", by comparison with the Ledge" || left.SheetValueID != nil {
		t.Errorf("left: %g by %q", *left.NominalSI, left.Source)
	}
	if *right.NominalSI != 10e-6 || right.SheetValueID == nil {
		t.Errorf("right: %g by %q", *right.NominalSI, right.Source)
	}
	if _, err := d.tx.Exec(ctx, "set constraints all immediate"); err != nil {
		t.Fatal(err)
	}
	d.soundly()
}

func (d *desk) name() string {
	var name string
	d.must(d.tx.QueryRow(ctx, "select name from staff where id = $1", d.by.Staff).Scan(&name))
	return name
}

// The maximum of the fork's own spring counts, not that of its model; what is
// written down later changes no sheet that is started.
func TestTheForksOwnMaximumIsTheCeiling(t *testing.T) {
	const psi = 6894.757293168361
	for _, c := range []struct {
		name          string
		before, after float64 // psi; 0: none
		want          float64
	}{
		{"none", 0, 0, 120}, {"its own", 100, 0, 100}, {"a higher one", 150, 0, 150}, {"later", 0, 90, 120},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := withSheet(t, dbtest.Tx(t))
			if c.before > 0 {
				d.own("maximum pressure", "", spec.FromDocument, "spring kit leaflet", c.before*psi, quantity.PSI)
			}
			d.start()
			if c.after > 0 {
				d.by.At = d.by.At.Add(time.Second)
				d.own("maximum pressure", "", spec.FromDocument, "spring kit leaflet", c.after*psi, quantity.PSI)
			}
			if got := d.step("V2").CeilingSI; got == nil || *got/psi < c.want-0.01 || *got/psi > c.want+0.01 {
				t.Errorf("the ceiling is %v, want %g psi", got, c.want)
			}
		})
	}
}

func TestAServiceIsRefusedByTheSpringInside(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.must(spec.PutInside(ctx, d.tx, d.act(), d.ofUnit().ID, 0, spec.Inside{Spring: "coil"}))
	var invalid *fault.Invalid
	if _, err := job.CheckService(ctx, d.tx, d.sheet().Job, "air-spring"); !errors.As(err, &invalid) {
		t.Errorf("an air-spring service of a coil: %v", err)
	}
	if _, err := bench.Preview(ctx, d.tx, d.by, d.sheet(), "coil-spring"); err != nil {
		t.Errorf("a coil-spring service: %v", err)
	}
}
