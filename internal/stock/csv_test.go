package stock

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/csvfile"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
)

// suppliersOf adds the two suppliers that the files of the tests name.
func suppliersOf(t *testing.T, tx pgx.Tx, by history.By) (ids []int64) {
	t.Helper()
	for _, name := range []string{"Northgate Supply", "Harbour Parts"} {
		id, err := AddSupplier(t.Context(), tx, by, Supplier{Name: name, LeadDays: 4})
		if err != nil {
			t.Fatal(err)
		}
		ids = append(ids, id)
	}
	return ids
}

func exported(t *testing.T, tx pgx.Tx) []byte {
	t.Helper()
	data, err := Export(t.Context(), tx, "GBP")
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// brought is the plan of a file and the number it is kept under.
func brought(t *testing.T, tx pgx.Tx, by history.By, data []byte) (int64, Plan) {
	t.Helper()
	id, err := BringFile(t.Context(), tx, by, "parts.csv", data)
	if err != nil {
		t.Fatal(err)
	}
	plan, err := PlanImport(t.Context(), tx, data, "GBP")
	if err != nil {
		t.Fatal(err)
	}
	return id, plan
}

func takenIn(t *testing.T, tx pgx.Tx, by history.By, data []byte) Plan {
	t.Helper()
	id, plan := brought(t, tx, by, data)
	if len(plan.Refused) > 0 {
		t.Fatalf("refused: %+v", plan.Refused)
	}
	if _, err := Import(t.Context(), tx, dbtest.Act(t, tx, by), id, plan.Mark, "GBP"); err != nil {
		t.Fatal(err)
	}
	return plan
}

// fullShelf has an item with everything that the file can say, one of each measure,
// and texts that a spreadsheet would reckon.
func fullShelf(t *testing.T, tx pgx.Tx, by history.By) {
	t.Helper()
	sold, low, high, zero, days := int64(2450), int64(500_000), int64(2_500_000), int64(0), 400
	thin, thinner := 15.25, 3.625
	model := halvardSill(t, tx)
	suppliers := suppliersOf(t, tx, by)
	grease := added(t, tx, by, Details{Code: "G 1", Name: "-Grease", Kind: Grease, Measure: Mass, Place: "=A1"})
	wiper := added(t, tx, by, Details{Code: "W-35", Name: "Wiper, \"35\" mm", Kind: "wiper", Measure: Each, Place: "Drawer 3", Barcode: "4006381333931",
		SaleMinor: &zero, Low: &zero, Models: []int64{model}, ReplacedBy: grease})
	fluid := added(t, tx, by, Details{Code: "F5", Name: "Damper fluid", Kind: Fluid, Measure: Volume, SaleMinor: &sold, Low: &low, High: &high, Batched: true,
		ShelfDays: &days, OpenedDays: &days, Nu40: &thin, Nu100: &thinner})
	price := int64(3800)
	for _, s := range []Source{
		{ItemID: wiper, SupplierID: suppliers[0], Code: "+NG 100", Barcode: "12345670", Pack: 10, PriceMinor: &price},
		{ItemID: wiper, SupplierID: suppliers[1], Code: "HP-7", Pack: 1, First: true},
		{ItemID: fluid, SupplierID: suppliers[0], Pack: 1_000_000},
	} {
		if err := PutSource(t.Context(), tx, by, s); err != nil {
			t.Fatal(err)
		}
	}
	best := time.Date(2027, 3, 14, 0, 0, 0, 0, time.UTC)
	for _, d := range []Delivery{{Item: wiper, Qty: 7, Cost: 3333}, {Item: fluid, Qty: 333_333, Cost: 777, Batch: "L1", BestBefore: &best}, {Item: fluid, Qty: 1_000_001, Cost: 1999, Batch: "L2"}, {Item: grease, Qty: 123_500, Cost: 901}} {
		if _, err := Deliver(t.Context(), tx, by, d, time.UTC); err != nil {
			t.Fatal(err)
		}
	}
}

func halvardSill(t *testing.T, tx pgx.Tx) (id int64) {
	t.Helper()
	err := tx.QueryRow(t.Context(), `insert into model (kind, maker, name, years, spring, damper) values ('fork', 'Halvard', 'Sill', '2021 to 2024', 'air', 'cartridge') returning id`).Scan(&id)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func TestPartsComeBackByteForByte(t *testing.T) {
	var first []byte
	t.Run("out", func(t *testing.T) { first = wentOut(t) })
	t.Run("in", func(t *testing.T) {
		_, tx, by := shelf(t)
		suppliersOf(t, tx, by)
		halvardSill(t, tx)
		if plan := takenIn(t, tx, by, first); plan.Count(RowNew) != 3 {
			t.Errorf("new are %d, want 3", plan.Count(RowNew))
		}
		if again := exported(t, tx); !bytes.Equal(again, first) {
			t.Errorf("came back as\n%s\nwant\n%s", again, first)
		}
	})
}

// wentOut is the file of a full shelf.
func wentOut(t *testing.T) []byte {
	_, tx, by := shelf(t)
	fullShelf(t, tx, by)
	first := exported(t, tx)
	for line := range strings.Lines(strings.TrimPrefix(string(first), csvfile.Mark)) {
		for cell := range strings.SplitSeq(line, ",") {
			if cell != "" && strings.ContainsRune("=+-@\t", rune(cell[0])) { // OWASP, CSV injection
				t.Errorf("a spreadsheet reckons %q", cell)
			}
		}
	}
	if _, plan := brought(t, tx, by, first); plan.Any() || len(plan.Refused) > 0 || plan.Count(RowUnchanged) != 3 {
		t.Fatalf("what is there already would do %+v", plan)
	}
	return first
}

func TestAFileOfPartsChangesWhatItSays(t *testing.T) {
	ctx, tx, by := shelf(t)
	fullShelf(t, tx, by)
	plan := takenIn(t, tx, by, []byte("code;name;sale;supplier;pack;pack_price\nw35;Wiper 35 mm;4,50;Northgate Supply;20;70\nF5;Damper fluid;24,50;;;\n"))
	if plan.Count(RowChanged) != 1 || plan.Count(RowUnchanged) != 1 || len(plan.Items[0].Changes) != 3 { // code, name, sale
		t.Errorf("%+v", plan.Items)
	}
	i, err := ByCode(ctx, tx, "W35")
	if err != nil || i.Name != "Wiper 35 mm" || *i.SaleMinor != 450 || i.Barcode == "" || i.ReplacedBy == 0 || i.Qty != 7 {
		t.Errorf("%+v, %v", i, err)
	}
	sources, err := Sources(ctx, tx, i.ID)
	if err != nil || len(sources) != 2 || !sources[0].First || sources[0].Supplier != "Northgate Supply" || sources[0].Pack != 20 || *sources[0].PriceMinor != 7000 || sources[0].Code != "+NG 100" {
		t.Errorf("%+v, %v", sources, err)
	}
}

func TestABadLineOfPartsIsSaid(t *testing.T) {
	_, tx, by := shelf(t)
	fullShelf(t, tx, by)
	const head = "code,name,kind,measure,barcode,sale,tax,low,batched,fits,replaced_by,supplier,supplier_code,pack,stock,cost,batch,best_before\n"
	for _, c := range []struct{ row, column, why string }{
		{"--,Thing,spacer,each", "code", "letters or digits"},
		{"a,,spacer,each", "name", "Give it a name"},
		{"a,Thing,gadget,each", "kind", "Choose"},
		{"a,Thing,spacer,yards", "measure", "Choose"},
		{"W35,Thing,spacer,mass", "measure", "moved already"},
		{"a,Thing,spacer,each,4006381333931", "barcode", "Another item"},
		{"a,Thing,spacer,each,,free", "sale", ""},
		{"a,Thing,spacer,each,,1,Q", "tax", "no such tax"},
		{"a,Thing,spacer,each,,,,2 L", "low", ""},
		{"a,Thing,spacer,each,,,,,perhaps", "batched", "Type yes"},
		{"a,Thing,spacer,each,,,,,,Halvard Fell", "fits", "no model “Halvard Fell”"},
		{"a,Thing,spacer,each,,,,,,,nowhere", "replaced_by", "Neither the shelf nor this file"},
		{"a,Thing,spacer,each,,,,,,,A", "replaced_by", "its own place"},
		{"a,Thing,spacer,each,,,,,,,,Nobody", "supplier", "add it first"},
		{"a,Thing,spacer,each,,,,,,,,,NG1", "supplier", "Name the supplier"},
		{"a,Thing,spacer,each,,,,,,,,Harbour Parts,,0", "pack", "how much a pack holds"},
		{"a,Thing,spacer,each,,,,,,,,,,,3", "cost", "Say what a piece"},
		{"a,Thing,spacer,each,,,,,,,,,,,,3", "cost", "goes with an amount"},
		{"a,Thing,spacer,each,,,,,yes,,,,,,3,1", "batch", "kept by batch"},
		{"a,Thing,spacer,each,,,,,,,,,,,3,1,L1", "batch", "not kept by batch"},
		{"a,Thing,spacer,each,,,,,yes,,,,,,3,1,L1,soon", "best_before", "Give a day"},
		{"a,Thing,spacer,each\na,Thing", "name", "first line of the item"},
		{"a,Thing,spacer,each,,,,,,,,Harbour Parts,,1\na,,,,,,,,,,,Harbour Parts,,1", "supplier", "earlier line"},
		{"a,Thing,spacer,each,,,,,,,,,,,1,1\na,,,,,,,,,,,,,,1,1", "stock", "earlier line"},
	} {
		id, plan := brought(t, tx, by, []byte(head+c.row+"\n"))
		at := slices.IndexFunc(plan.Refused, func(r csvfile.Refusal) bool { return r.Column == c.column && strings.Contains(r.Why, c.why) })
		want := 2 + strings.Count(c.row, "\n")
		if at < 0 || plan.Refused[at].Line != want || plan.Refused[at].Why == "" {
			t.Errorf("%q: refused %+v, want line %d, %s: %q", c.row, plan.Refused, want, c.column, c.why)
		}
		if _, err := Import(t.Context(), tx, by, id, plan.Mark, "GBP"); err == nil {
			t.Fatalf("%q was taken in", c.row)
		}
	}
}

func TestAShelfChangedMeanwhileIsSaid(t *testing.T) {
	ctx, tx, by := shelf(t)
	fullShelf(t, tx, by)
	id, plan := brought(t, tx, by, []byte("code,name\nG1,Slick grease\n"))
	i, err := ByCode(ctx, tx, "g1")
	if err != nil {
		t.Fatal(err)
	}
	d := i.Details
	d.Place = "B2"
	if err := Change(ctx, tx, by, i.ID, i.Version, d); err != nil {
		t.Fatal(err)
	}
	if _, err := Import(ctx, tx, by, id, plan.Mark, "GBP"); err == nil || !strings.Contains(err.Error(), "changed since") {
		t.Errorf("over a changed item: %v", err)
	}
	if _, err := GetFile(ctx, tx, id, by.Staff+1); err == nil {
		t.Error("somebody else reads the file")
	}
}

// As many lines as a file may have; a press may take ten seconds.
func TestTheLargestFileOfPartsIsTakenIn(t *testing.T) {
	_, tx, by := shelf(t)
	suppliersOf(t, tx, by)
	var file bytes.Buffer
	file.WriteString("code,name,kind,measure,place,sale,supplier,supplier_code,pack,pack_price,stock,cost\n")
	for n := range mostLines {
		fmt.Fprintf(&file, "S%05d,Spacer %d,spacer,each,Box %d,1.20,Harbour Parts,HP%d,10,4,12,0.40\n", n, n, n%40, n)
	}
	start := time.Now()
	takenIn(t, tx, by, file.Bytes())
	if took := time.Since(start); took > 10*time.Second {
		t.Errorf("it took %v", took)
	} else {
		t.Logf("it took %v", took)
	}
	if _, err := BringFile(context.Background(), tx, by, "x", append(file.Bytes(), "one,more\n"...)); field(t, err) != "file" {
		t.Errorf("a line more: %v", err)
	}
}
