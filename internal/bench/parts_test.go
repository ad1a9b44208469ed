package bench_test

import (
	"strings"
	"testing"

	"damperdesk/internal/bench"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/job"
	"damperdesk/internal/partslist"
	"damperdesk/internal/quantity"
	"damperdesk/internal/stock"
)

// item is on the shelf in an amount, and on the parts list of the lower-leg service
// where a step is given.
func (d *desk) item(name string, kind stock.Sort, measure stock.Measure, amount int64, step string, qty int64, must bool) int64 {
	d.t.Helper()
	id, err := stock.Add(ctx, d.tx, d.act(), stock.Details{Code: name, Name: name, Kind: kind, Measure: measure})
	d.must(err)
	if amount > 0 {
		_, err = stock.Post(ctx, d.tx, d.act(), stock.Posting{Item: id, Kind: stock.Receive, Qty: amount, Cost: 1000})
		d.must(err)
	}
	if step != "" {
		d.must(partslist.Put(ctx, d.tx, d.act(), partslist.Line{Service: "lower-leg", ItemID: id, Step: step, Qty: qty, Must: must}))
	}
	return id
}

func (d *desk) need(item int64) partslist.Need {
	d.t.Helper()
	list, err := partslist.OfJobs(ctx, d.tx, d.job)
	d.must(err)
	for _, n := range list {
		if n.ItemID == item {
			return n
		}
	}
	d.t.Fatalf("the job needs no item %d: %+v", item, list)
	return partslist.Need{}
}

// stands checks what is there of an item and how much of it lies aside.
func (d *desk) stands(item, qty, aside int64) {
	d.t.Helper()
	i, err := stock.Get(ctx, d.tx, item)
	d.must(err)
	if i.Qty != qty || i.Aside != aside {
		d.t.Errorf("%s: %d there, %d aside; want %d and %d", i.Code, i.Qty, i.Aside, qty, aside)
	}
}

func mL(n float64) *quantity.Value {
	return &quantity.Value{SI: n / 1e6, Unit: quantity.Millilitre, Entered: "as poured"}
}

// A fit step takes its parts, a volume step what went in, by the name of the fluid
// on the sheet: common practice (no source).
func TestSigningTakesPartsOffTheShelf(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	foams := d.item("foams", "foam ring", stock.Each, 6, "W4", 2, true)
	wipers := d.item("wipers", "wiper", stock.Each, 6, "W5", 2, false)
	oil := d.item("Bath oil, 10 weight", stock.Fluid, stock.Volume, 1_000_000, "", 0, false)
	d.must(job.SetPartsAside(ctx, d.tx, d.act(), d.job))
	d.stands(foams, 6, 2)
	d.start()
	d.stands(oil, 1_000_000, 20_000)
	if n := d.need(foams); n.Aside != 2 || !n.Must {
		t.Errorf("foams: %+v", n)
	}
	d.signUpTo("Z2")
	d.stands(foams, 4, 0)
	d.stands(wipers, 6, 0) // signed as kept
	if n := d.need(wipers); n.Choice != partslist.Kept || n.Used != 0 {
		t.Errorf("the wipers that were kept: %+v", n)
	}
	d.must(d.sign(bench.Signing{StepID: d.step("Z3").ID, Value: mL(11)}))
	d.stands(oil, 989_000, 10_000)

	done := d.step("W4").Done
	d.must(bench.CrossOut(ctx, d.tx, d.act(), d.job, done.ID, "The wrong ones"))
	d.stands(foams, 6, 2)
	moves, err := stock.Entries(ctx, d.tx, foams, 0)
	if err != nil || len(moves) != 3 || moves[0].Kind != stock.Return || moves[0].Reason != "The wrong ones" {
		t.Errorf("moves %+v, %v", moves, err)
	}
	d.must(job.Cancel(ctx, d.tx, d.act(), d.job, "returned undone", "They need it back"))
	d.stands(foams, 6, 0)
	d.stands(oil, 989_000, 0)
}

// A sign-off is kept whatever the ledger has: what it has none of is to be counted.
func TestWhatTheLedgerHasNotIsUsedAndToBeCounted(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	foams := d.item("foams", "foam ring", stock.Each, 1, "W4", 2, true)
	d.must(job.SetPartsAside(ctx, d.tx, d.act(), d.job))
	d.start()
	d.signUpTo("W5")
	d.stands(foams, 0, 0)
	n := d.need(foams)
	if n.Used != 1 || n.Unposted != 1 {
		t.Fatalf("used %d, to be counted %d; want 1 and 1", n.Used, n.Unposted)
	}
	if err := partslist.UseNow(ctx, d.tx, d.act(), d.job, n.ID, n.Version); err == nil {
		t.Error("posted though there is none")
	}
	d.must(job.Cancel(ctx, d.tx, d.act(), d.job, "returned undone", "They need it back"))
	all, err := partslist.AllUnposted(ctx, d.tx)
	if err != nil || len(all) != 1 || all[0].Qty != 1 || all[0].JobID != d.job {
		t.Errorf("not in the ledger are %+v, %v", all, err)
	}
	_, err = stock.Post(ctx, d.tx, d.act(), stock.Posting{Item: foams, Kind: stock.Count, Qty: 1})
	d.must(err)
	n = d.need(foams)
	d.must(partslist.UseNow(ctx, d.tx, d.act(), d.job, n.ID, n.Version))
	d.stands(foams, 0, 0)
	if n := d.need(foams); n.Used != 2 || n.Unposted != 0 {
		t.Errorf("used %d, to be counted %d; want 2 and none", n.Used, n.Unposted)
	}
}

// Another fluid than the sheet's is what went in.
func TestAnotherFluidIsTakenWhereItIsSigned(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	oil := d.item("Bath oil, 10 weight", stock.Fluid, stock.Volume, 1_000_000, "", 0, false)
	other := d.item("Bath oil, 20 weight", stock.Fluid, stock.Volume, 1_000_000, "", 0, false)
	d.start()
	d.signUpTo("Z2")
	d.must(d.sign(bench.Signing{StepID: d.step("Z3").ID, Value: mL(10), Fluid: "bath oil 20 weight", Reason: "The other one is out"}))
	d.stands(oil, 1_000_000, 10_000)
	d.stands(other, 990_000, 0)
}

// A spoiled part is gone from what lay aside: the step is signed all the same.
func TestASignOffIsNeverRefusedForTheShelf(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	foams := d.item("foams", "foam ring", stock.Each, 2, "W4", 2, true)
	d.must(job.SetPartsAside(ctx, d.tx, d.act(), d.job))
	d.start()
	_, err := stock.Post(ctx, d.tx, d.act(), stock.Posting{Item: foams, Kind: stock.Waste, Qty: 1, Reason: "Cut"})
	d.must(err)
	d.signUpTo("W4")
	d.stands(foams, 0, 0)
	if n := d.need(foams); n.Used != 1 || n.Unposted != 1 {
		t.Errorf("%+v, want one used and one to be counted", n)
	}
	// What is posted late belongs to its step, and comes back with it.
	_, err = stock.Post(ctx, d.tx, d.act(), stock.Posting{Item: foams, Kind: stock.Count, Qty: 1})
	d.must(err)
	n := d.need(foams)
	d.must(partslist.UseNow(ctx, d.tx, d.act(), d.job, n.ID, n.Version))
	d.must(bench.CrossOut(ctx, d.tx, d.act(), d.job, d.step("W4").Done.ID, strings.Repeat("The wrong ones. ", 60)))
	d.stands(foams, 2, 2)
	if n := d.need(foams); n.Used != 0 || n.Unposted != 0 {
		t.Errorf("%+v, want nothing used", n)
	}
}

func TestASignedStepWantsNothingMore(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	oil := d.item("Bath oil, 10 weight", stock.Fluid, stock.Volume, 20_000, "", 0, false)
	d.item("Bath oil, 20 weight", stock.Fluid, stock.Volume, 1_000_000, "", 0, false)
	bottles, err := stock.Add(ctx, d.tx, d.act(), stock.Details{Code: "A-1", Name: "bath oil 10 weight", Kind: stock.Fluid, Measure: stock.Each})
	d.must(err)
	_, err = stock.Post(ctx, d.tx, d.act(), stock.Posting{Item: bottles, Kind: stock.Receive, Qty: 6}) // kept by the bottle
	d.must(err)
	wipers := d.item("wipers", "wiper", stock.Each, 6, "W5", 2, true)
	d.must(job.SetPartsAside(ctx, d.tx, d.act(), d.job))
	d.start()
	d.stands(bottles, 6, 0)
	d.signUpTo("W4")
	d.must(d.sign(bench.Signing{StepID: d.step("W5").ID, Outcome: bench.OutcomeNot, Reason: "None in this one"}))
	d.stands(wipers, 6, 0)
	d.signUpTo("Z2")
	d.must(d.sign(bench.Signing{StepID: d.step("Z3").ID, Value: mL(9)}))
	d.must(d.sign(bench.Signing{StepID: d.step("Z4").ID, Value: mL(10), Fluid: "bath oil 20 weight", Reason: "The other one is out"}))
	d.must(bench.CrossOut(ctx, d.tx, d.act(), d.job, d.step("W4").Done.ID, "Again"))
	d.stands(oil, 11_000, 0)
	lacks, err := partslist.Lacking(ctx, d.tx, d.job)
	if err != nil || len(lacks) != 0 {
		t.Errorf("it still lacks %+v, %v", lacks, err)
	}
}

// What was chosen in place of the sheet's fluid is what goes in, though the step is
// signed with the name that stands on it.
func TestTheFluidThatWasChosenGoesIn(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	oil := d.item("Bath oil, 10 weight", stock.Fluid, stock.Volume, 20_000, "", 0, false)
	other := d.item("Bath oil, 20 weight", stock.Fluid, stock.Volume, 1_000_000, "", 0, false)
	d.start()
	needs, err := partslist.OfJobs(ctx, d.tx, d.job)
	d.must(err)
	for _, n := range needs {
		if n.Step == "Z3" {
			d.must(partslist.Keep(ctx, d.tx, d.act(), partslist.Change{Job: d.job, Need: n.ID, Version: n.Version, Choice: partslist.New, Item: other}))
		}
	}
	d.signUpTo("Z3")
	d.stands(oil, 20_000, 10_000)
	d.stands(other, 990_000, 0)
}
