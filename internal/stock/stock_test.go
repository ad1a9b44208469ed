package stock

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

// shelf is a transaction with somebody who may write.
func shelf(t *testing.T) (context.Context, pgx.Tx, history.By) {
	t.Helper()
	tx := dbtest.Tx(t)
	return context.Background(), tx, dbtest.By(t, tx, "mechanic")
}

func wiper(code string) Details {
	return Details{Code: code, Name: "Wiper, 35 mm", Kind: "wiper", Measure: Each, Place: "A3"}
}

func added(t *testing.T, tx pgx.Tx, by history.By, d Details) int64 {
	t.Helper()
	id, err := Add(context.Background(), tx, dbtest.Act(t, tx, by), d)
	if err != nil {
		t.Fatal(err)
	}
	return id
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

func TestAnItemIsKeptAndFound(t *testing.T) {
	ctx, tx, by := shelf(t)
	d := wiper("W-35 a")
	d.Barcode = "4006381333931"
	id := added(t, tx, by, d)
	got, err := Get(ctx, tx, id)
	if err != nil || got.Code != "W-35 a" || got.Qty != 0 || got.Version != 1 {
		t.Fatalf("got %+v, %v", got, err)
	}
	for _, text := range []string{"w35A", "4006381333931", "http://desk.test/parts/" + itoa(id)} {
		if got, err := Scan(ctx, tx, text); err != nil || got.ID != id {
			t.Errorf("scanned %q: item %d, %v; want %d", text, got.ID, err, id)
		}
	}
	for _, words := range []string{"wip 35", "W-35", "a3", "w35a"} {
		if list, _, err := List(ctx, tx, Filter{Words: words}); err != nil || len(list) != 1 {
			t.Errorf("%q finds %d, %v; want 1", words, len(list), err)
		}
	}
	if list, _, err := List(ctx, tx, Filter{Words: "wiper 36"}); err != nil || len(list) != 0 {
		t.Errorf("another size finds %d, %v", len(list), err)
	}
	if _, err := Add(ctx, tx, by, wiper("w 35A")); err == nil {
		t.Error("the same code a second time passes")
	}
}

func itoa(n int64) string { return Each.Field(n) }

func TestWhatCannotStandOnAnItem(t *testing.T) {
	ctx, tx, by := shelf(t)
	high, low, days := int64(2), int64(5), 400
	thin, thick := 3.0, 15.0
	for want, d := range map[string]Details{
		"code name kind measure": {Code: "--"},
		"high":                   {Code: "a", Name: "a", Kind: "wiper", Measure: Each, Low: &low, High: &high},
		"opened_days":            {Code: "a", Name: "a", Kind: "wiper", Measure: Each, OpenedDays: &days},
		"nu100":                  {Code: "a", Name: "a", Kind: Fluid, Measure: Volume, Nu40: &thin, Nu100: &thick},
		"barcode":                {Code: "a", Name: "a", Kind: Fluid, Measure: Volume, Barcode: "4006381333932"},
	} {
		_, err := Add(ctx, tx, by, d)
		if got := field(t, err); got != strings.Join(slices.Sorted(slices.Values(strings.Fields(want))), " ") {
			t.Errorf("%+v: wrong are %q, want %q", d, got, want)
		}
	}
}

func TestWhatIsNotThereIsNotUsed(t *testing.T) {
	ctx, tx, by := shelf(t)
	id := added(t, tx, by, wiper("w1"))
	if _, err := Post(ctx, tx, by, Posting{Item: id, Kind: Receive, Qty: 2, Cost: 900}); err != nil {
		t.Fatal(err)
	}
	s, err := Lock(ctx, tx, id)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.SetAside(ctx, tx, id, 2); err != nil {
		t.Fatal(err)
	}
	if err := s.SetAside(ctx, tx, id, 1); err == nil {
		t.Error("a third one was set aside of two")
	}
	_, err = s.Post(ctx, tx, by, Posting{Item: id, Kind: Use, Qty: 1})
	if err == nil || !strings.Contains(err.Error(), "2\u00a0pieces set aside for other jobs") {
		t.Errorf("what is set aside for others was taken: %v", err)
	}
	if _, err := s.Post(ctx, tx, by, Posting{Item: id, Kind: Use, Qty: 1, Aside: 1}); err != nil {
		t.Errorf("what is set aside for it cannot be used: %v", err)
	}
	if got, err := Get(ctx, tx, id); err != nil || got.Qty != 1 || got.Aside != 1 || got.Free() != 0 || got.Value != 450 {
		t.Errorf("got %+v, %v", got, err)
	}
}

func TestBelowZeroOnlyWhereTheShopSaysSo(t *testing.T) {
	ctx, tx, by := shelf(t)
	id := added(t, tx, by, wiper("w1"))
	if _, err := Post(ctx, tx, by, Posting{Item: id, Kind: Use, Qty: 1}); err == nil {
		t.Fatal("one was used of none")
	}
	_, err := tx.Exec(ctx, `insert into shop (name, zone, currency, hemisphere, torque_unit, volume_unit, pressure_unit, mass_unit, stock_below_zero)
		values ('Shop', 'UTC', 'EUR', 'north', 'N·m', 'mL', 'psi', 'kg', true)`)
	if err != nil {
		t.Fatal(err)
	}
	if m, err := Post(ctx, tx, by, Posting{Item: id, Kind: Use, Qty: 1}); err != nil || m.QtyAfter != -1 {
		t.Fatalf("%+v, %v", m, err)
	}
	if list, _, err := List(ctx, tx, Filter{State: StateBelow}); err != nil || len(list) != 1 {
		t.Errorf("below zero are %d, %v; want 1", len(list), err)
	}
}

func TestWhatIsThrownAwayHasAReason(t *testing.T) {
	ctx, tx, by := shelf(t)
	id := added(t, tx, by, wiper("w1"))
	receive, err := Post(ctx, tx, by, Posting{Item: id, Kind: Receive, Qty: 2, Cost: 900})
	if err != nil {
		t.Fatal(err)
	}
	for _, kind := range []Kind{WriteOff, Waste, SendBack} {
		if _, err := Post(ctx, tx, by, Posting{Item: id, Kind: kind, Qty: 1}); field(t, err) != "reason" {
			t.Errorf("%s without a reason: %v", kind, err)
		}
	}
	if _, err := TakeBack(ctx, tx, by, receive.ID, " "); field(t, err) != "reason" {
		t.Errorf("taken back without a reason: %v", err)
	}
	back, err := TakeBack(ctx, tx, dbtest.Act(t, tx, by), receive.ID, "It was for next door")
	if err != nil || back.QtyAfter != 0 || back.ValueAfter != 0 || back.Reverses != receive.ID {
		t.Fatalf("%+v, %v", back, err)
	}
	if _, err := TakeBack(ctx, tx, by, receive.ID, "Again"); err == nil {
		t.Error("taken back twice")
	}
	if _, err := TakeBack(ctx, tx, by, back.ID, "Again"); err == nil {
		t.Error("a taking back was taken back")
	}
}

func TestDamperFluidGoesByBatch(t *testing.T) {
	ctx, tx, by := shelf(t)
	days := 90
	id := added(t, tx, by, Details{Code: "f1", Name: "Damper fluid", Kind: Fluid, Measure: Volume, Batched: true, OpenedDays: &days})
	if _, err := Post(ctx, tx, by, Posting{Item: id, Kind: Receive, Qty: 1000, Cost: 900}); field(t, err) != "batch" {
		t.Fatalf("received without a batch: %v", err)
	}
	soon, late := dbtest.Now.AddDate(0, 1, 0), dbtest.Now.AddDate(1, 0, 0)
	first, err := TakeBatch(ctx, tx, by, id, "L2", &late)
	if err != nil {
		t.Fatal(err)
	}
	second, err := TakeBatch(ctx, tx, by, id, "L1", &soon)
	if err != nil {
		t.Fatal(err)
	}
	for _, batch := range []int64{first, second} {
		if _, err := Post(ctx, tx, by, Posting{Item: id, Kind: Receive, Qty: 1000, Cost: 900, Batch: batch}); err != nil {
			t.Fatal(err)
		}
	}
	if m, err := Post(ctx, tx, by, Posting{Item: id, Kind: Use, Qty: 10}); err != nil || m.BatchID != second {
		t.Errorf("taken of batch %d, %v; want the one that goes bad first", m.BatchID, err)
	}
	if err := OpenBottle(ctx, tx, by, id, first); err != nil {
		t.Fatal(err)
	}
	if m, err := Post(ctx, tx, by, Posting{Item: id, Kind: Use, Qty: 10}); err != nil || m.BatchID != first {
		t.Errorf("taken of batch %d, %v; want the open one", m.BatchID, err)
	}
	open, err := OpenBottles(ctx, tx, id)
	if till := open[id].GoodTill(dbtest.Now.Location()); err != nil || till == nil || till.Format("2006-01-02") != dbtest.Now.AddDate(0, 0, days).Format("2006-01-02") {
		t.Errorf("the open bottle is good till %v, %v", till, err)
	}
}

func TestWhereItIsBought(t *testing.T) {
	ctx, tx, by := shelf(t)
	id := added(t, tx, by, wiper("w1"))
	var suppliers []int64
	for _, name := range []string{"Northgate Supply", "Harbour Parts"} {
		s, err := AddSupplier(ctx, tx, by, Supplier{Name: name, LeadDays: 4})
		if err != nil {
			t.Fatal(err)
		}
		suppliers = append(suppliers, s)
	}
	put := func(s Source) {
		t.Helper()
		if err := PutSource(ctx, tx, by, s); err != nil {
			t.Fatal(err)
		}
	}
	put(Source{ItemID: id, SupplierID: suppliers[0], Code: "NG 100", Pack: 10})
	put(Source{ItemID: id, SupplierID: suppliers[1], Code: "HP-7", Pack: 1, First: true})
	list, err := Sources(ctx, tx, id)
	if err != nil || len(list) != 2 || list[0].SupplierID != suppliers[1] || list[1].First {
		t.Fatalf("%+v, %v", list, err)
	}
	put(list[1])
	if err := PutSource(ctx, tx, by, list[1]); err == nil {
		t.Error("an older version was written over a newer one")
	}
	if got, err := Scan(ctx, tx, "ng100"); err != nil || got.ID != id {
		t.Errorf("by the supplier's code: %d, %v", got.ID, err)
	}
}

func TestAScannerFindsOneItem(t *testing.T) {
	ctx, tx, by := shelf(t)
	id, other := added(t, tx, by, wiper("w1")), added(t, tx, by, wiper("w2"))
	for _, text := range []string{"https://desk.test/parts/" + itoa(id), "httpsÖ--desk.test-parts-" + itoa(id), "W 1"} { // the second on another keyboard
		if got, err := Scan(ctx, tx, text); err != nil || got.ID != id {
			t.Errorf("scanned %q: item %d, %v; want %d", text, got.ID, err, id)
		}
	}
	s, err := AddSupplier(ctx, tx, by, Supplier{Name: "Northgate Supply"})
	if err != nil {
		t.Fatal(err)
	}
	for _, item := range []int64{id, other} {
		if err := PutSource(ctx, tx, by, Source{ItemID: item, SupplierID: s, Code: "NG 100", Pack: 10}); err != nil {
			t.Fatal(err)
		}
	}
	for text, says := range map[string]string{"ng100": "Several items", "nothing": "No item", "--": "Scan a label", "/parts/" + itoa(id+100): "No item"} {
		_, err := Scan(ctx, tx, text)
		if field(t, err) != "scan" || !strings.Contains(err.Error(), says) {
			t.Errorf("scanned %q: %v, want %q", text, err, says)
		}
	}
	if list, _, err := List(ctx, tx, Filter{Supplier: s}); err != nil || len(list) != 2 {
		t.Errorf("bought there are %d, %v; want 2", len(list), err)
	}
}

func TestADeliveryMakesItsBatch(t *testing.T) {
	ctx, tx, by := shelf(t)
	days := 30
	d := Details{Code: "f1", Name: "Damper fluid", Kind: Fluid, Measure: Volume, Batched: true, ShelfDays: &days}
	id := added(t, tx, by, d)
	if _, err := Deliver(ctx, tx, by, Delivery{Item: id, Qty: 1_000_000, Cost: 1200}, dbtest.Now.Location()); field(t, err) != "batch" {
		t.Errorf("without its batch: %v", err)
	}
	for range 2 { // a known batch keeps its day
		if _, err := Deliver(ctx, tx, by, Delivery{Item: id, Qty: 1_000_000, Cost: 1200, Batch: "L1"}, dbtest.Now.Location()); err != nil {
			t.Fatal(err)
		}
		days = 60
	}
	list, err := Batches(ctx, tx, id)
	if err != nil || len(list) != 1 || list[0].Left != 2_000_000 || list[0].BestBefore.Format("2006-01-02") != dbtest.Now.AddDate(0, 0, 30).Format("2006-01-02") {
		t.Errorf("batches %+v, %v", list, err)
	}
	rows, err := Ledger(ctx, tx, id, "EUR", dbtest.Now.Location())
	if err != nil || len(rows) != 3 || strings.Join(rows[2][2:9], "|") != "receive|1 L|12.00|12.00|2 L|24.00|L1" {
		t.Errorf("ledger %q, %v", rows, err)
	}
}

func TestASourceIsTakenAway(t *testing.T) {
	ctx, tx, by := shelf(t)
	id := added(t, tx, by, wiper("w1"))
	for i, name := range []string{"Northgate Supply", "Harbour Parts", "Ash Supply"} {
		s, err := AddSupplier(ctx, tx, by, Supplier{Name: name})
		if err != nil {
			t.Fatal(err)
		}
		if err := PutSource(ctx, tx, by, Source{ItemID: id, SupplierID: s, Pack: int64(i + 1)}); err != nil {
			t.Fatal(err)
		}
	}
	list, err := Sources(ctx, tx, id)
	if err != nil || list[0].Supplier != "Northgate Supply" {
		t.Fatal(list, err)
	}
	if err := DropSource(ctx, tx, by, id, list[0].SupplierID, list[0].Version+1); err == nil {
		t.Error("taken away over another version")
	}
	if err := DropSource(ctx, tx, by, id, list[0].SupplierID, list[0].Version); err != nil {
		t.Fatal(err)
	}
	if list, err = Sources(ctx, tx, id); err != nil || len(list) != 2 || list[0].Supplier != "Ash Supply" || !list[0].First || list[1].First {
		t.Errorf("left are %+v, %v", list, err)
	}
}
