package job_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/order"
	"damperdesk/internal/partslist"
	"damperdesk/internal/stock"
)

// sealSet is an item of which so many are there, on the list of the lower-leg
// service, bought where it takes four days.
func (d desk) sealSet(there int64) int64 {
	d.t.Helper()
	by := dbtest.Act(d.t, d.tx, d.mechanic)
	check := func(err error) {
		d.t.Helper()
		if err != nil {
			d.t.Fatal(err)
		}
	}
	id, err := stock.Add(ctx, d.tx, by, stock.Details{Code: "s1", Name: "Seal set", Kind: "seal set", Measure: stock.Each})
	check(err)
	supplier, err := stock.AddSupplier(ctx, d.tx, by, stock.Supplier{Name: "Harbour Parts", LeadDays: 4})
	check(err)
	check(stock.PutSource(ctx, d.tx, by, stock.Source{ItemID: id, SupplierID: supplier, Pack: 1}))
	if there > 0 {
		_, err = stock.Post(ctx, d.tx, by, stock.Posting{Item: id, Kind: stock.Receive, Qty: there, Cost: 900})
		check(err)
	}
	check(partslist.Put(ctx, d.tx, by, partslist.Line{Service: "test-lower", ItemID: id, Step: "W5", Qty: 1, Must: true}))
	return id
}

func (d desk) holds(id int64) []job.Wait { d.t.Helper(); return d.get(id).Holds }

// Of two forks that want the last seal set the first has it, and the second waits
// until it can be here: four days from today.
func TestTheLastOneIsSetAsideOnce(t *testing.T) {
	d := newDesk(t, dbtest.Tx(t))
	item := d.sealSet(1)
	first := d.takeIn()
	second, err := job.TakeIn(ctx, d.tx, d.by, d.dropOff(d.addFork("Another fork")))
	if err != nil {
		t.Fatal(err)
	}
	v, err := job.Visit(ctx, d.tx, second)
	if err != nil {
		t.Fatal(err)
	}
	if got := d.holds(first.ID); len(got) != 0 {
		t.Errorf("the first waits: %+v", got)
	}
	got := d.holds(v.Jobs[0].ID)
	want := d.by.At.Truncate(24*time.Hour).AddDate(0, 0, 4)
	if len(got) != 1 || got[0].Kind != job.WaitingOnParts || got[0].ExpectedOn == nil || !got[0].ExpectedOn.Equal(want) {
		t.Fatalf("the second waits %+v, want for parts till %v", got, want)
	}
	err = job.Supply(ctx, d.tx, dbtest.Act(t, d.tx, d.mechanic), []int64{item}, func() error {
		_, err := stock.Post(ctx, d.tx, d.mechanic, stock.Posting{Item: item, Kind: stock.Receive, Qty: 5, Cost: 4000})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if got := d.holds(v.Jobs[0].ID); len(got) != 0 {
		t.Errorf("it waits still: %+v", got)
	}
	if i, err := stock.Get(ctx, d.tx, item); err != nil || i.Aside != 2 || i.Qty != 6 {
		t.Errorf("%+v, %v", i, err)
	}
}

// A job waits until its parts are expected: ordered today in four days, then as the
// order is expected, and as it was put off.
func TestAJobWaitsAsItsOrderIsExpected(t *testing.T) {
	d := newDesk(t, dbtest.Tx(t))
	item := d.sealSet(0)
	j := d.takeIn()
	act := func() history.By {
		by := dbtest.Act(t, d.tx, d.by)
		by.Roles = []string{"owner"}
		return by
	}
	check := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	expected := func(days int) {
		t.Helper()
		check(job.AwaitAnew(ctx, d.tx, act(), []int64{item}))
		got := d.holds(j.ID)
		want := d.by.At.Truncate(24*time.Hour).AddDate(0, 0, days)
		if len(got) != 1 || got[0].ExpectedOn == nil || !got[0].ExpectedOn.Equal(want) {
			t.Errorf("it waits %+v, want till %v", got, want)
		}
	}
	expected(4)
	id, err := order.AddLine(ctx, d.tx, act(), order.Wish{Item: item, Qty: 1})
	check(err)
	expected(4) // a draft is no order
	day := d.by.At.Truncate(24*time.Hour).AddDate(0, 0, 9)
	o, err := order.Get(ctx, d.tx, id)
	check(err)
	check(order.Send(ctx, d.tx, act(), id, o.Version, &day, time.UTC))
	expected(9)
	o, err = order.Get(ctx, d.tx, id)
	check(err)
	check(order.Await(ctx, d.tx, act(), id, o.Version, day.AddDate(0, 0, 3), time.UTC))
	expected(12)
}

func TestAServiceTakenOffPutsItsPartsBack(t *testing.T) {
	d := newDesk(t, dbtest.Tx(t))
	item := d.sealSet(3)
	j := d.takeIn()
	if err := job.AddService(ctx, d.tx, d.by, j.ID, "test-air"); err != nil {
		t.Fatal(err)
	}
	if err := job.TakeOffService(ctx, d.tx, d.by, j.ID, "test-lower", "Done last week"); err != nil {
		t.Fatal(err)
	}
	if i, err := stock.Get(ctx, d.tx, item); err != nil || i.Aside != 0 {
		t.Errorf("%d aside, %v; want none", i.Aside, err)
	}
}

// Two desks take in a fork each at the same moment.
func TestTwoDesksWantTheLastOne(t *testing.T) {
	pool := dbtest.Clone(t)
	var d desk
	var forks [2]int64
	write := func(fn func(tx pgx.Tx) error) error { return db.Write(context.Background(), pool, fn) }
	err := write(func(tx pgx.Tx) error {
		d = newDesk(t, tx)
		d.sealSet(1)
		forks = [2]int64{d.fork, d.addFork("Another fork")}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 2)
	for _, fork := range forks {
		go func() {
			done <- write(func(tx pgx.Tx) error {
				by := dbtest.By(t, tx, "desk")
				drop := d.dropOff(fork)
				_, err := job.TakeIn(ctx, tx, by, drop)
				return err
			})
		}()
	}
	for range forks {
		if err := <-done; err != nil {
			t.Fatal(err)
		}
	}
	var aside, waiting int
	err = pool.QueryRow(ctx, `select (select sum(aside) from need), (select count(*) from hold where kind = 'waiting on parts')`).Scan(&aside, &waiting)
	if err != nil || aside != 1 || waiting != 1 {
		t.Errorf("%d set aside, %d wait, %v; want 1 and 1", aside, waiting, err)
	}
}

// two are two forks that have a seal set aside each, the second promised later.
func (d desk) two(item int64) (first, second int64) {
	d.t.Helper()
	drop := d.dropOff(d.addFork("Another fork"))
	drop.PromisedAt = drop.PromisedAt.Add(48 * time.Hour)
	first = d.takeIn().ID
	visit, err := job.TakeIn(ctx, d.tx, d.by, drop)
	if err != nil {
		d.t.Fatal(err)
	}
	v, err := job.Visit(ctx, d.tx, visit)
	if err != nil {
		d.t.Fatal(err)
	}
	return first, v.Jobs[0].ID
}

func TestWhatIsSpoiledIsMissedByTheLaterPromise(t *testing.T) {
	d := newDesk(t, dbtest.Tx(t))
	item := d.sealSet(2)
	first, second := d.two(item)
	err := job.Supply(ctx, d.tx, dbtest.Act(t, d.tx, d.mechanic), []int64{item}, func() error {
		_, err := stock.Post(ctx, d.tx, d.mechanic, stock.Posting{Item: item, Kind: stock.Waste, Qty: 1, Reason: "Torn"})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if a, b := len(d.holds(first)), len(d.holds(second)); a != 0 || b != 1 {
		t.Errorf("the first has %d waits and the second %d, want none and one", a, b)
	}
}

func TestWhatACancelledJobHadAsideGoesToTheOneThatWaits(t *testing.T) {
	d := newDesk(t, dbtest.Tx(t))
	item := d.sealSet(1)
	first, second := d.two(item)
	if len(d.holds(second)) != 1 {
		t.Fatal("the second does not wait")
	}
	if err := job.Cancel(ctx, d.tx, dbtest.Act(t, d.tx, d.by), first, "returned undone", "They need it"); err != nil {
		t.Fatal(err)
	}
	if n := len(d.holds(second)); n != 0 {
		t.Errorf("the second has %d waits, want none", n)
	}
}

func TestWhatIsNoLongerKeptIsReplacedOnTheLists(t *testing.T) {
	d := newDesk(t, dbtest.Tx(t))
	item := d.sealSet(0)
	act := func() history.By { return dbtest.Act(t, d.tx, d.mechanic) }
	newer, err := stock.Add(ctx, d.tx, act(), stock.Details{Code: "s2", Name: "Seal set", Kind: "seal set", Measure: stock.Each})
	if err == nil {
		_, err = stock.Post(ctx, d.tx, act(), stock.Posting{Item: newer, Kind: stock.Receive, Qty: 1, Cost: 900})
	}
	if err != nil {
		t.Fatal(err)
	}
	i, err := stock.Get(ctx, d.tx, item)
	if err != nil {
		t.Fatal(err)
	}
	i.ReplacedBy = newer
	day := dbtest.Now.Truncate(24 * time.Hour)
	if err := errors.Join(stock.Change(ctx, d.tx, act(), item, i.Version, i.Details), stock.Retire(ctx, d.tx, act(), item, i.Version+1, &day)); err != nil {
		t.Fatal(err)
	}
	j := d.takeIn()
	if n, err := stock.Get(ctx, d.tx, newer); err != nil || n.Aside != 1 || len(d.holds(j.ID)) != 0 {
		t.Errorf("%d aside, %d waits, %v; want one and none", n.Aside, len(d.holds(j.ID)), err)
	}
}
