package order

import (
	"context"
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/check"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/stock"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

// desk is a transaction with a supplier, and what is bought there.
type desk struct {
	t        *testing.T
	tx       pgx.Tx
	by       history.By
	supplier int64
}

func open(t *testing.T) desk {
	t.Helper()
	tx := dbtest.Tx(t)
	d := desk{t: t, tx: tx, by: dbtest.By(t, tx, "desk")}
	d.supplier = d.sells(stock.Supplier{Name: "Northgate Supply", LeadDays: 4, OrderDays: []int16{1, 4}})
	return d
}

func (d desk) sells(s stock.Supplier) int64 {
	d.t.Helper()
	id, err := stock.AddSupplier(context.Background(), d.tx, d.act(), s)
	d.must(err)
	return id
}

func (d desk) must(err error) {
	d.t.Helper()
	if err != nil {
		d.t.Fatal(err)
	}
}

func (d desk) act() history.By { d.t.Helper(); return dbtest.Act(d.t, d.tx, d.by) }

func (d desk) later(days int) desk { d.by.At = d.by.At.AddDate(0, 0, days); return d }

// item is one that is bought in packs at a price of a pack.
func (d desk) item(code string, pack, price int64, change ...func(*stock.Details)) int64 {
	d.t.Helper()
	details := stock.Details{Code: code, Name: "Wiper " + code, Kind: "wiper", Measure: stock.Each}
	for _, c := range change {
		c(&details)
	}
	id, err := stock.Add(context.Background(), d.tx, d.act(), details)
	d.must(err)
	d.must(stock.PutSource(context.Background(), d.tx, d.act(), stock.Source{ItemID: id, SupplierID: d.supplier, Code: "NG " + code, Pack: pack, PriceMinor: &price}))
	return id
}

func (d desk) wish(item, qty int64) int64 {
	d.t.Helper()
	id, err := AddLine(context.Background(), d.tx, d.act(), Wish{Item: item, Qty: qty})
	d.must(err)
	return id
}

func (d desk) order(id int64) (Order, []Line) {
	d.t.Helper()
	o, err := Get(context.Background(), d.tx, id)
	d.must(err)
	lines, err := Lines(context.Background(), d.tx, id)
	d.must(err)
	return o, lines
}

func (d desk) sent(items ...int64) (Order, []Line) {
	d.t.Helper()
	var id int64
	for _, i := range items {
		id = d.wish(i, 10)
	}
	d.must(Send(context.Background(), d.tx, d.act(), id, 0, nil, time.UTC))
	return d.order(id)
}

func (d desk) receive(o Order, counted ...Counted) Arrival {
	d.t.Helper()
	a, err := Receive(context.Background(), d.tx, d.act(), o.ID, 0, counted)
	d.must(err)
	return a
}

// holds fails the test where an invariant is broken.
func (d desk) holds() {
	d.t.Helper()
	found, err := check.Run(context.Background(), d.tx)
	d.must(err)
	for _, f := range found {
		if !strings.HasPrefix(f.Name, "chained") { // events are sealed at commit
			d.t.Errorf("broken: %s: %v", f.Name, f.Offenders)
		}
	}
}

func field(t *testing.T, err error) string {
	t.Helper()
	var invalid *fault.Invalid
	if !errors.As(err, &invalid) {
		t.Fatalf("got %v, want a wrong field", err)
	}
	var names []string
	for name := range invalid.Fields {
		names = append(names, name)
	}
	slices.Sort(names)
	return strings.Join(names, " ")
}

func conflicts(t *testing.T, what string, err error) {
	t.Helper()
	var conflict fault.Conflict
	if !errors.As(err, &conflict) {
		t.Errorf("%s: %v, want a conflict", what, err)
	}
}

func TestOneDraftASupplierTakesWholePacks(t *testing.T) {
	d := open(t)
	a, b := d.item("a", 5, 1000), d.item("b", 1, 250)
	id := d.wish(a, 7)
	if second := d.wish(b, 3); second != id {
		t.Errorf("the second wish is on draft %d, want %d", second, id)
	}
	d.wish(a, 1)
	o, lines := d.order(id)
	if len(lines) != 2 || lines[0].Qty != 15 || lines[0].Packs() != 3 || lines[1].Qty != 3 || o.SumMinor != 3*1000+3*250 || o.State != Draft {
		t.Fatalf("%+v with %+v", o, lines)
	}
	d.must(ChangeLines(context.Background(), d.tx, d.act(), id, o.Version, []LineChange{{ID: lines[0].ID, Qty: 6, PriceMinor: of(900)}, {ID: lines[1].ID}}))
	o, lines = d.order(id)
	if len(lines) != 1 || lines[0].Qty != 10 || o.SumMinor != 1800 {
		t.Fatalf("changed to %+v with %+v", o, lines)
	}
	conflicts(t, "an older version", ChangeLines(context.Background(), d.tx, d.by, id, o.Version-1, nil))
	other := d.sells(stock.Supplier{Name: "Harbour Parts"})
	_, err := AddLine(context.Background(), d.tx, d.by, Wish{Item: a, Qty: 1, Supplier: other})
	if field(t, err) != "item" {
		t.Errorf("ordered where it is not bought: %v", err)
	}
	d.holds()
}

func TestAnOrderIsSentByTheDesk(t *testing.T) {
	d := open(t)
	id := d.wish(d.item("a", 5, 1000), 5)
	at := d.act()
	at.Roles = []string{"mechanic"}
	var forbidden fault.Forbidden
	if err := Send(context.Background(), d.tx, at, id, 0, nil, time.UTC); !errors.As(err, &forbidden) {
		t.Errorf("a mechanic sends: %v", err)
	}
	yesterday := dbtest.Now.AddDate(0, 0, -1)
	if err := Send(context.Background(), d.tx, d.act(), id, 0, &yesterday, time.UTC); field(t, err) != "expected_on" {
		t.Errorf("expected yesterday: %v", err)
	}
	d.must(Send(context.Background(), d.tx, d.act(), id, 0, nil, time.UTC))
	o, _ := d.order(id)
	// Now is Tuesday 13 October 2026; orders are taken on Thursday 15, and 4 days on is Monday 19.
	if o.State != Sent || o.ExpectedOn.Format(time.DateOnly) != "2026-10-19" || !o.SentAt.Equal(dbtest.Now) {
		t.Errorf("%+v", o)
	}
	if o.Late(o.ExpectedOn.AddDate(0, 0, 0)) || !o.Late(o.ExpectedOn.AddDate(0, 0, 1)) {
		t.Error("it is late from the day behind the one it is expected on")
	}
	conflicts(t, "sent twice", Send(context.Background(), d.tx, d.by, id, 0, nil, time.UTC))
	conflicts(t, "changed after sending", ChangeLines(context.Background(), d.tx, d.by, id, 0, nil))
	next := d.wish(d.item("b", 1, 100), 1)
	if next == id {
		t.Error("a new wish went on an order that was sent")
	}
	if n, _ := d.order(next); n.Number != o.Number+1 {
		t.Errorf("number %d follows %d", n.Number, o.Number)
	}
	d.holds()
}

// Source: the calendar of October 2026, in which the 13th is a Tuesday.
func TestTheNextDayForOrders(t *testing.T) {
	day := func(d int) time.Time { return time.Date(2026, 10, d, 0, 0, 0, 0, time.UTC) }
	for _, c := range []struct {
		from int
		days []int16
		want int
	}{{13, nil, 13}, {13, []int16{2}, 13}, {13, []int16{1}, 19}, {13, []int16{1, 4}, 15}, {18, []int16{7}, 18}, {19, []int16{7}, 25}} {
		if got := stock.OrderDay(day(c.from), c.days); !got.Equal(day(c.want)) {
			t.Errorf("from %d October with days %v: %s, want %d October", c.from, c.days, got.Format(time.DateOnly), c.want)
		}
	}
}

func TestADeliveryGoesOnTheShelfInOneAct(t *testing.T) {
	d := open(t)
	a, b := d.item("a", 5, 1000), d.item("b", 1, 250, func(i *stock.Details) { i.Batched = true })
	o, lines := d.sent(a, b)
	counted := []Counted{{Item: a, Line: lines[0].ID, Qty: 5}, {Item: b, Line: lines[1].ID, Qty: 10}}
	_, err := Receive(context.Background(), d.tx, d.by, o.ID, 0, counted)
	if field(t, err) != "1.batch" {
		t.Fatalf("without a batch: %v", err)
	}
	if i, err := stock.Get(context.Background(), d.tx, a); err != nil || i.Qty != 0 {
		t.Fatalf("half of a refused delivery is on the shelf: %+v, %v", i, err)
	}
	counted[1].Batch, counted[1].BestBefore = "L77", o.ExpectedOn
	arrival := d.receive(o, counted...)
	if arrival.State != PartReceived || len(arrival.Items) != 2 || arrival.Items[0].Qty != 5 || len(arrival.Left) != 1 ||
		arrival.Left[0].Item != a || arrival.Left[0].Qty != 5 || !arrival.Left[0].ExpectedOn.Equal(*o.ExpectedOn) {
		t.Fatalf("%+v", arrival)
	}
	item, err := stock.Get(context.Background(), d.tx, a)
	if err != nil || item.Qty != 5 || item.Value != 1000 {
		t.Errorf("on the shelf %+v, %v; want 5 worth a pack", item, err)
	}
	if batches, err := stock.Batches(context.Background(), d.tx, b); err != nil || len(batches) != 1 || batches[0].Code != "L77" || batches[0].Left != 10 {
		t.Errorf("batches %+v, %v", batches, err)
	}
	arrival = d.receive(o, Counted{Item: a, Line: lines[0].ID, Qty: 5})
	if arrival.State != Received || len(arrival.Left) != 0 {
		t.Errorf("complete: %+v", arrival)
	}
	_, err = Receive(context.Background(), d.tx, d.by, o.ID, 0, counted)
	conflicts(t, "received once more", err)
	d.holds()
}

func TestWhatCameShortWrongOrUnasked(t *testing.T) {
	d := open(t)
	a, b, c := d.item("a", 5, 1000), d.item("b", 1, 250), d.item("c", 2, 300)
	o, lines := d.sent(a, b)
	day := o.ExpectedOn.AddDate(0, 0, 7)
	for want, counted := range map[string]Counted{
		"0.words":       {Item: a, Line: lines[0].ID, Short: Broken},
		"0.short":       {Item: a, Line: lines[0].ID, Words: "Two are bent"},
		"0.expected_on": {Item: a, Line: lines[0].ID, Short: Short, Words: "Sold out", Cancel: true, ExpectedOn: &day},
		"scan":          {Item: a, Line: lines[0].ID},
	} {
		if _, err := Receive(context.Background(), d.tx, d.by, o.ID, 0, []Counted{counted}); field(t, err) != want {
			t.Errorf("%+v: %v, want %s", counted, err, want)
		}
	}
	unpriced, err := stock.Add(context.Background(), d.tx, d.act(), stock.Details{Code: "lone", Name: "Spacer", Kind: "spacer", Measure: stock.Each})
	d.must(err)
	if _, err := Receive(context.Background(), d.tx, d.by, o.ID, 0, []Counted{{Item: unpriced, Qty: 1}}); field(t, err) != "0.price" {
		t.Errorf("what has no price is on the shelf: %v", err)
	}
	arrival := d.receive(o,
		Counted{Item: a, Line: lines[0].ID, Qty: 4, Short: Broken, Words: "One is bent", ExpectedOn: &day},
		Counted{Item: b, Line: lines[1].ID, Short: Short, Words: "Sold out for good", Cancel: true},
		Counted{Item: c, Qty: 3, PriceMinor: of(300)})
	want := []Left{
		{Line: lines[0].ID, Item: a, Qty: 6, Short: Broken, Words: "One is bent", ExpectedOn: &day},
		{Line: lines[1].ID, Item: b, Cancelled: 10, Short: Short, Words: "Sold out for good"},
	}
	if arrival.State != PartReceived || len(arrival.Items) != 2 || !reflect.DeepEqual(arrival.Left, want) {
		t.Fatalf("%+v", arrival)
	}
	if i, err := stock.Get(context.Background(), d.tx, c); err != nil || i.Qty != 3 || i.Value != 450 { // 3 of a pack of 2 for 300
		t.Errorf("what was not ordered: %+v, %v", i, err)
	}
	d.must(Close(context.Background(), d.tx, d.act(), o.ID, 0, "The rest is bought elsewhere."))
	o, _ = d.order(o.ID)
	if o.State != Closed || o.Awaited() {
		t.Errorf("%+v", o)
	}
	d.holds()
}

func TestAWrongReceiptIsTakenBack(t *testing.T) {
	d := open(t)
	a := d.item("a", 5, 1000)
	o, lines := d.sent(a)
	arrival := d.receive(o, Counted{Item: a, Line: lines[0].ID, Qty: 10})
	if arrival.State != Received {
		t.Fatalf("%+v", arrival)
	}
	if _, err := TakeBack(context.Background(), d.tx, d.act(), arrival.Items[0].Move, "That was next door’s box."); err != nil {
		t.Fatal(err)
	}
	o, lines = d.order(o.ID)
	if o.State != Sent || lines[0].Received != 0 || lines[0].Open() != 10 {
		t.Fatalf("%+v with %+v", o, lines)
	}
	if lead, err := Lead(context.Background(), d.tx, d.supplier, time.UTC); err != nil || lead.N != 0 {
		t.Errorf("a delivery that was taken back counts: %+v, %v", lead, err)
	}
	d.holds()
	if got := d.receive(o, Counted{Item: a, Line: lines[0].ID, Qty: 10}); got.State != Received {
		t.Errorf("%+v", got)
	}
	m, err := stock.Post(context.Background(), d.tx, d.act(), stock.Posting{Item: a, Kind: stock.Receive, Qty: 1})
	d.must(err)
	if back, err := TakeBack(context.Background(), d.tx, d.act(), m.ID, "Of no order"); err != nil || back.Reverses != m.ID {
		t.Errorf("%+v, %v", back, err)
	}
	d.holds()
}

func TestAPriceOnTheInvoiceIsKept(t *testing.T) {
	d := open(t)
	a := d.item("a", 5, 1000)
	o, lines := d.sent(a)
	c := Counted{Item: a, Line: lines[0].ID, Qty: 5, PriceMinor: of(1100)}
	change, ok := lines[0].Changed(c)
	if !ok || change != (PriceChange{1000, 1100}) || change.PerCent() != "+10" {
		t.Errorf("%+v, %v, %s", change, ok, change.PerCent())
	}
	d.receive(o, c)
	price := func() int64 {
		list, err := stock.Sources(context.Background(), d.tx, a)
		d.must(err)
		return *list[0].PriceMinor
	}
	if got := price(); got != 1000 {
		t.Errorf("the supplier’s price is %d without being ticked", got)
	}
	c.KeepPrice = true
	d.receive(o, c)
	if got := price(); got != 1100 {
		t.Errorf("the supplier’s price is %d, want 1100", got)
	}
	if i, err := stock.Get(context.Background(), d.tx, a); err != nil || i.Value != 2200 {
		t.Errorf("worth %d, %v; want what was invoiced", i.Value, err)
	}
	for want, p := range map[string]PriceChange{"−2.5": {1000, 975}, "+0.1": {1000, 1001}, "": {0, 5}, "+33.3": {300, 400}} {
		if got := p.PerCent(); got != want {
			t.Errorf("%+v is %s per cent, want %s", p, got, want)
		}
	}
}

func TestAScanAddsAPackToItsLine(t *testing.T) {
	d := open(t)
	a, b := d.item("a", 5, 1000, func(i *stock.Details) { i.Barcode = "4006381333931" }), d.item("b", 2, 300)
	elsewhere := d.sells(stock.Supplier{Name: "Harbour Parts"})
	d.must(stock.PutSource(context.Background(), d.tx, d.act(), stock.Source{ItemID: b, SupplierID: elsewhere, Code: "NG a", Pack: 1}))
	o, lines := d.sent(a)
	var counted []Counted
	for i, text := range []string{"A", "4006381333931", "ng-A", "http://desk.test/parts/" + stock.Each.Field(a)} {
		var err error
		if counted, _, err = Scanned(context.Background(), d.tx, o, lines, counted, text); err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		if len(counted) != 1 || counted[0].Line != lines[0].ID || counted[0].Qty != int64(5*(i+1)) {
			t.Fatalf("after %s: %+v", text, counted)
		}
	}
	counted, at, err := Scanned(context.Background(), d.tx, o, lines, counted, "b")
	if err != nil || at != 1 || counted[1] != (Counted{Item: b, Qty: 2}) {
		t.Errorf("what was not ordered: %+v at %d, %v", counted, at, err)
	}
	if _, _, err := Scanned(context.Background(), d.tx, o, lines, counted, "nothing of ours"); field(t, err) != "scan" {
		t.Errorf("%v", err)
	}
	d.must(Unpack(context.Background(), d.tx, d.act(), o.ID, o.Version, counted))
	kept, err := Unpacked(context.Background(), d.tx, o.ID)
	if err != nil || !reflect.DeepEqual(kept, counted) {
		t.Errorf("kept %+v, %v; want %+v", kept, err, counted)
	}
	conflicts(t, "counted by two at once", Unpack(context.Background(), d.tx, d.by, o.ID, o.Version, counted))
}
