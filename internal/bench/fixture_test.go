package bench_test

import (
	"context"
	"errors"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
	"damperdesk/internal/tool"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

var (
	ctx    = context.Background()
	london = mustLoad("Europe/London")
	serial atomic.Int64
)

func mustLoad(name string) *time.Location {
	zone, err := time.LoadLocation(name)
	if err != nil {
		panic(err)
	}
	return zone
}

// desk is a shop with the shipped procedures and a wrench, a mechanic with the
// other roles too, and a fork that has been dropped off for a lower-leg
// service. All of it is invented.
type desk struct {
	t    testing.TB
	tx   pgx.Tx
	by   history.By
	job  int64
	unit int64
	tool int64
}

func newDesk(t testing.TB, tx pgx.Tx, modelID int64) *desk {
	t.Helper()
	d := &desk{t: t, tx: tx, by: dbtest.By(t, tx, "desk", "mechanic", "owner")}
	d.must(procedure.Install(ctx, tx, d.by))
	visit := d.takeIn(customer.UnitDetails{Kind: "fork", ModelID: modelID, ModelWords: "a fork of no known make"})
	d.job, d.unit = visit.Jobs[0].ID, visit.Jobs[0].UnitID
	return d
}

// withSheet is newDesk with a model that has a spec sheet.
func withSheet(t testing.TB, tx pgx.Tx) *desk {
	t.Helper()
	by := dbtest.By(t, tx, "owner", "mechanic")
	return newDesk(t, tx, model(t, tx, by))
}

func (d *desk) takeIn(unit customer.UnitDetails) job.VisitWithJobs {
	d.t.Helper()
	id, err := job.TakeIn(ctx, d.tx, d.by, job.DropOff{
		NewCustomer: customer.Details{Name: "Mirela Anttonen", Phone: "07700 900 140"},
		PromisedAt:  dbtest.Now.Add(4 * time.Hour), Currency: "GBP",
		Units: []job.DropOffUnit{{NewUnit: unit, Symptoms: []string{job.JustDue}, Services: []string{"lower-leg"}}},
	})
	d.must(err)
	visit, err := job.Visit(ctx, d.tx, id)
	d.must(err)
	return visit
}

// model has foot bolts at 7.3 N·m, 6.8 to 7.8, and 10 mL of oil a leg, 9 to
// 11: common practice (no source).
func model(t testing.TB, tx pgx.Tx, by history.By) int64 {
	t.Helper()
	id, err := spec.AddModel(ctx, tx, by, spec.Model{
		Kind: "fork", Maker: "Halvard", Name: "Sill " + strconv.FormatInt(serial.Add(1), 10), Spring: "air", Damper: "sealed",
		SpringLeg: "left", DamperLeg: "right", Adjusters: []string{"rebound", "compression"}, Build: spec.Build{Crowns: "one"},
	})
	must(t, err)
	document, err := spec.AddDocument(ctx, tx, by, id, "Sill service manual", "3rd edition")
	must(t, err)
	from := func(page, key, place string, nominal, minus, plus float64, unit quantity.Unit, fluid string) spec.Value {
		k, _ := spec.Find(key)
		si := func(number float64) float64 {
			if k.Kind == spec.KindCount {
				return number
			}
			v, err := quantity.FromUnit(k.Kind, number, unit)
			must(t, err)
			return v
		}
		return spec.Value{Key: key, Place: place, NominalSI: si(nominal), MinusSI: si(minus), PlusSI: si(plus), ShownUnit: unit,
			Fluid: fluid, SourceKind: spec.FromDocument, DocumentID: &document, Page: page}
	}
	sheet, err := spec.DraftSheet(ctx, tx, by, id, []spec.Value{
		from("41", "foot bolt", "", 7.3, 0.5, 0.5, quantity.NewtonMetre, ""),
		from("38", "lower-leg oil", "foot-left", 10, 1, 1, quantity.Millilitre, "bath oil, 10 weight"),
		from("38", "lower-leg oil", "foot-right", 10, 1, 1, quantity.Millilitre, "bath oil, 10 weight"),
		from("12", "rebound range", "", 17, 1, 1, "", ""),
		from("7", "maximum pressure", "", 120, 0, 0, quantity.PSI, ""),
		from("7", "rider pressure", "", 80, 0, 0, quantity.PSI, ""),
	})
	must(t, err)
	must(t, spec.CheckSheet(ctx, tx, dbtest.By(t, tx, "owner"), sheet))
	return id
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func (d *desk) must(err error) { d.t.Helper(); must(d.t, err) }

// act is a new act of the desk's mechanic.
func (d *desk) act() history.By { return dbtest.Act(d.t, d.tx, d.by) }

func (d *desk) sheet() bench.Sheet {
	d.t.Helper()
	s, err := bench.Get(ctx, d.tx, d.job)
	d.must(err)
	return s
}

func (d *desk) step(key string) *bench.Step {
	d.t.Helper()
	s := d.sheet().ByKey(key)
	if s == nil {
		d.t.Fatalf("the sheet has no step %s", key)
	}
	return s
}

func (d *desk) start() { d.t.Helper(); d.must(bench.Start(ctx, d.tx, d.act(), d.job)) }

func (d *desk) sign(g bench.Signing) error { return bench.Sign(ctx, d.tx, d.act(), london, g) }

// signUpTo signs each step in order, the one of that key included; an empty
// key signs all.
func (d *desk) signUpTo(key string) {
	d.t.Helper()
	for _, step := range d.sheet().Steps {
		if step.Done == nil {
			if err := d.sign(d.expected(step)); err != nil {
				d.t.Fatalf("sign %s: %v", step.Key, err)
			}
		}
		if step.Key == key {
			return
		}
	}
}

// expected signs a step as the sheet would have it.
func (d *desk) expected(step bench.Step) bench.Signing {
	g := bench.Signing{StepID: step.ID}
	count := 7.0
	if len(step.Grades) > 0 {
		g.Grade = step.Grades[0]
	}
	switch step.Kind {
	case procedure.Wait:
		g.How = bench.HowAfterwards // tests do not stand and wait
	case procedure.Torque:
		g.ToolID = d.wrench()
		g.Value = &quantity.Value{SI: *step.NominalSI, Unit: step.ShownUnit, Entered: "as named"}
	case procedure.Volume:
		g.Value = &quantity.Value{SI: *step.NominalSI, Unit: step.ShownUnit, Entered: "as named"}
	case procedure.Count:
		if step.NominalSI != nil {
			count = *step.NominalSI
		}
		g.Count = &count
	case procedure.Reading:
		if len(step.Grades) == 0 {
			g.Value = &quantity.Value{SI: 80 * 6894.757, Unit: step.ShownUnit, Entered: "80"}
			if step.NominalSI != nil {
				g.Value.SI = *step.NominalSI
			}
			if step.Quantity == quantity.KindLength {
				g.Value.SI = 0.15
			}
		}
	}
	return g
}

// refused checks that the error is a Conflict, an Invalid or a Forbidden, and
// what it says.
func refused(t testing.TB, what string, err error, sentence string) {
	t.Helper()
	got, safe := fault.Sentence(err)
	if err == nil || !safe || got != sentence {
		t.Errorf("%s: %v, want refused: %s", what, err, sentence)
	}
}

// tried runs fn in a part of the transaction that is undone, as a refused act
// is.
func (d *desk) tried(fn func(tx pgx.Tx) error) error {
	d.t.Helper()
	undone := errors.New("undone")
	var result error
	err := pgx.BeginFunc(ctx, d.tx, func(tx pgx.Tx) error {
		result = fn(tx)
		return undone
	})
	if !errors.Is(err, undone) {
		d.t.Fatal(err)
	}
	return result
}

type pgxTx = pgx.Tx

func seq(d *desk, key string) string { return strconv.Itoa(d.step(key).Seq) }

// wrench is a calibrated click wrench of 2 to 15 N·m.
func (d *desk) wrench() int64 {
	d.t.Helper()
	if d.tool != 0 {
		return d.tool
	}
	id, err := tool.Add(ctx, d.tx, d.act(), tool.Tool{
		Name: "Wrench " + strconv.FormatInt(serial.Add(1), 10), Kind: "click wrench",
		RangeMinNm: 2, RangeMaxNm: 15, Unit: quantity.NewtonMetre, Graduation: 0.1,
	})
	d.must(err)
	d.must(tool.Calibrate(ctx, d.tx, d.act(), id, tool.NewCalibration{DoneOn: dbtest.Now.AddDate(0, -3, 0), Passed: true}))
	d.tool = id
	return id
}
