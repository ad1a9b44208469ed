package spec

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/csvfile"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/quantity"
)

func (d desk) export(t *testing.T) []byte {
	t.Helper()
	data, err := Export(d.ctx, d.tx, 0)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func (d desk) bring(t *testing.T, data []byte) (int64, Plan) {
	t.Helper()
	id, err := BringFile(d.ctx, d.tx, d.by, "library.csv", data)
	if err != nil {
		t.Fatal(err)
	}
	plan, err := PlanImport(d.ctx, d.tx, data)
	if err != nil {
		t.Fatal(err)
	}
	return id, plan
}

// takeIn imports a file of which no row is refused.
func (d desk) takeIn(t *testing.T, data []byte) {
	t.Helper()
	id, plan := d.bring(t, data)
	if len(plan.Refused) > 0 {
		t.Fatalf("refused: %+v", plan.Refused)
	}
	if _, err := Import(d.ctx, d.tx, dbtest.Act(t, d.tx, d.by), id, plan.Mark); err != nil {
		t.Fatal(err)
	}
}

// empty is a library without models.
func empty(t *testing.T) desk {
	t.Helper()
	d := desk{ctx: t.Context(), tx: dbtest.Tx(t)}
	d.by = dbtest.By(t, d.tx, "mechanic")
	return d
}

// full is a library of one model with a value of every key, some with windows,
// texts that a spreadsheet would reckon, and a chart.
func full(t *testing.T, by desk) []byte {
	t.Helper()
	travel, wheel, d34 := 140, 622, 34.5
	m := Model{Kind: "fork", Maker: "=Halvard", Name: "Sill, \"long\"", Years: "2021; 2022", TravelMM: &travel, Spring: "air", Damper: "cartridge",
		SpringLeg: "left", DamperLeg: "right", Lowers: "arch front", Adjusters: []string{"lockout", "compression", "rebound"}, Positions: []string{"open", "=firm"},
		Build: Build{WheelMM: &wheel, StanchionMM: &d34, Crowns: "one", Steerer: "28.6-38.1", Axle: "15x110"}}
	id, err := AddModel(by.ctx, by.tx, by.by, m)
	if err != nil {
		t.Fatal(err)
	}
	document, err := AddDocument(by.ctx, by.tx, by.by, id, "+Manual", "'3rd")
	if err != nil {
		t.Fatal(err)
	}
	var values []Value
	for i, k := range Keys {
		v := Value{Key: k.ID, NominalSI: (k.UsualLow + k.UsualHigh) / 2.9, ShownUnit: k.Unit, SourceKind: FromDocument, DocumentID: &document, Page: "@4", Sure: true}
		if k.Kind == quantity.KindTorque {
			v.ShownUnit = quantity.PoundForceInch
		}
		if k.Measurable() && i%3 == 0 {
			v.SourceKind, v.DocumentID, v.Page, v.SourceWords = FromMeasuring, nil, "", "-on 3 forks\twith µ"
		}
		if !k.NotOver && i%2 == 0 {
			v.MinusSI, v.PlusSI = v.NominalSI/7, v.NominalSI/11
		}
		if k.Kind == quantity.KindVolume {
			v.Fluid = "=1+1"
		}
		values = append(values, v)
	}
	sheet, err := DraftSheet(by.ctx, by.tx, by.by, id, values)
	if err != nil {
		t.Fatal(err)
	}
	s := printed(booklet...)
	s.Sure = true
	s.From = Value{SourceKind: FromDocument, DocumentID: &document, Page: "9"}
	for i := range s.Rows {
		*s.Rows[i].PressurePa /= 2
	}
	if err := PutSetup(by.ctx, by.tx, by.by, sheet, 1, s); err != nil {
		t.Fatal(err)
	}
	return by.export(t)
}

// clear takes every model out again.
func (d desk) clear(t *testing.T) {
	t.Helper()
	for _, table := range []string{"setup_row", "setup_chart", "sheet_value", "sheet_editor", "sheet", "document", "model"} {
		if _, err := d.tx.Exec(d.ctx, "delete from "+table); err != nil {
			t.Fatal(err)
		}
	}
}

func TestTheLibraryComesBackByteForByte(t *testing.T) {
	d := empty(t)
	first := full(t, d)
	records, err := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(first, []byte(csvfile.Mark)))).ReadAll()
	if err != nil || len(records) != 2+len(Keys)+len(booklet) {
		t.Fatalf("%d rows, %v", len(records), err)
	}
	for _, record := range records[1:] {
		for i, cell := range record {
			if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) { // OWASP, CSV injection
				t.Errorf("a spreadsheet reckons %s %q", records[0][i], cell)
			}
		}
	}
	if _, plan := d.bring(t, first); plan.Any() || plan.Count(RowUnchanged) != len(records)-1 || len(plan.Refused) != 0 {
		t.Errorf("into itself: %d unchanged, refused %+v", plan.Count(RowUnchanged), plan.Refused)
	}
	d.clear(t)
	d.takeIn(t, first)
	if second := d.export(t); !bytes.Equal(first, second) {
		t.Errorf("it went out as\n%s\nand came back as\n%s", first, second)
	}
	list, err := Models(d.ctx, d.tx)
	if err != nil || len(list) != 1 || list[0].Revision != 0 || list[0].Draft != 1 || list[0].Maker != "=Halvard" {
		t.Fatalf("models: %+v, %v", list, err)
	}
	var conflict fault.Conflict
	draft, _ := Draft(d.ctx, d.tx, list[0].ID)
	if dbtest.By(t, d.tx, "owner"); !errors.As(CheckSheet(d.ctx, d.tx, d.by, draft.ID), &conflict) {
		t.Error("whoever took the file in checks it")
	}
}

// A German spreadsheet writes semicolons and decimal commas, another one leaves
// the mark at the beginning out.
func TestTheSameFileAsSpreadsheetsSaveIt(t *testing.T) {
	d := empty(t)
	first := full(t, d)
	records, err := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(first, []byte(csvfile.Mark)))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	numbers := map[string]bool{"stanchion_mm": true, "value": true, "low": true, "high": true, "pressure": true, "rider_kg": true}
	for _, record := range records[1:] {
		for i := range record {
			if numbers[records[0][i]] {
				record[i] = strings.ReplaceAll(record[i], ".", ",")
			}
		}
	}
	var semicolons bytes.Buffer
	w := csv.NewWriter(&semicolons)
	w.Comma = ';'
	if err := w.WriteAll(records); err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{
		"no mark": bytes.TrimPrefix(first, []byte(csvfile.Mark)), "bare line ends": bytes.ReplaceAll(first, []byte("\r\n"), []byte("\n")), "semicolons": semicolons.Bytes(),
	} {
		if _, plan := d.bring(t, data); plan.Any() || plan.Count(RowUnchanged) != len(records)-1 || len(plan.Refused) != 0 {
			t.Errorf("%s: %d unchanged, refused %+v", name, plan.Count(RowUnchanged), plan.Refused)
		}
	}
	for name, c := range map[string]struct{ data, says string }{
		"empty":          {" \n", "empty"},
		"UTF-16":         {"\xff\xfer\x00o\x00w\x00", "UTF-8"},
		"Latin-1":        {"row,maker,model,years\nmodel,M\xfcller,x,\n", "UTF-8"},
		"other columns":  {"name,price\nx,1\n", "no column “name”"},
		"column twice":   {"row,maker,model,years,row\n", "twice"},
		"column missing": {"row,maker,model\n", "“years” is missing"},
	} {
		var invalid *fault.Invalid
		if _, err := PlanImport(d.ctx, d.tx, []byte(c.data)); !errors.As(err, &invalid) || !strings.Contains(invalid.Fields["file"], c.says) {
			t.Errorf("%s: %v, want %q", name, err, c.says)
		}
	}
}

// lines are a file of a few columns.
func lines(rows ...string) []byte {
	return []byte("row,maker,model,years,kind,spring,damper,key,place,value,low,high,unit,fluid,source,document,edition,page,words,sure,rider_kg,rebound\n" + strings.Join(rows, "\n") + "\n")
}

func TestABadRowIsRefusedAloneAndSaysWhy(t *testing.T) {
	d := withModel(t)
	const ours = ",Halvard,Sill,2021 to 2024,,,,"
	good := "value" + ours + "foot bolt,foot-left foot-right,7.3,6.8,7.8,N·m,,document,Sill service manual,3rd edition,41,,,,"
	for _, c := range []struct{ row, column, says string }{
		{"value" + ours + "ball joint,,7,,,N·m,,measured,,,,x,,,", "key", "from the list"},
		{"value" + ours + "damper cap,saddle,25,,,N·m,,document,Sill service manual,3rd edition,,,,,", "place", "place of the drawing"},
		{"value" + ours + "damper cap,,25,,,bar,,document,Sill service manual,3rd edition,,,,,", "unit", "unit that fits"},
		{"value" + ours + "damper cap,,tight,,,N·m,,document,Sill service manual,3rd edition,,,,,", "value", "number"},
		{"value" + ours + "damper cap,,,,,N·m,,document,Sill service manual,3rd edition,,,,,", "value", "Give the value"},
		{"value" + ours + "damper cap,,25,26,27,N·m,,document,Sill service manual,3rd edition,,,,,", "low", "lie in its window"},
		{"value" + ours + "damper cap,,250,,,N·m,,document,Sill service manual,3rd edition,,,,,", "sure", "Really 250"},
		{"value" + ours + "damper cap,,25,,,N·m,,,,,,,,,", "source", "where the value comes from"},
		{"value" + ours + "damper cap,,25,,,N·m,,document,,,,,,,", "document", "Name the document"},
		{"value" + ours + "damper cap,,25,,,N·m,,judgement,,,,,,,", "words", "what you compare with"},
		{"value" + ours + "damper cap,,25,,,N·m,,judgement,Sill service manual,,,the Ledge,,,", "document", "from a document only"},
		{"value" + ours + "stem,steerer,5,,,N·m,,judgement,,,,the Ledge,,,", "source", "only the maker’s document serves"},
		{"value" + ours + "lower-leg oil,foot-left,10,,,mL,,measured,,,,on 3 forks,,,", "fluid", "which fluid"},
		{"value,Halvard,Berm,,,,,damper cap,,25,,,N·m,,measured,,,,x,,,", "model", "Neither the library nor a row of this file"},
		{"model,Halvard,Ledge,,fork,steam,sealed,,,,,,,,,,,,,,,", "spring", "air, coil or none"},
		{"thing,Halvard,Ledge,,,,,,,,,,,,,,,,,,,", "row", "model, value or chart"},
		{"chart" + ours + ",,,,,psi,,measured,,,,on 3 forks,,60,9", "rider_kg", "from 2 to 20 rows"},
		{"value" + ours + "damper cap,,\"25", "", "quotation marks"},
	} {
		_, plan := d.bring(t, lines(good, c.row))
		if len(plan.Models) != 1 || plan.Count(RowNew) != 1 {
			t.Errorf("%s: the good row is %+v", c.row, plan.Models)
		}
		if len(plan.Refused) != 1 || plan.Refused[0].Line != 3 || plan.Refused[0].Column != c.column || !strings.Contains(plan.Refused[0].Why, c.says) {
			t.Errorf("%s: refused %+v, want column %q, %q", c.row, plan.Refused, c.column, c.says)
		}
	}
	if _, plan := d.bring(t, lines(good, good)); len(plan.Refused) != 1 || plan.Refused[0].Column != "key" {
		t.Errorf("twice: %+v", plan.Refused)
	}
}

func TestAnImportDoesWhatWasShownOrNothing(t *testing.T) {
	d := withModel(t)
	first, err := DraftSheet(d.ctx, d.tx, d.by, d.model, []Value{d.foot()})
	if err != nil {
		t.Fatal(err)
	}
	if err := CheckSheet(d.ctx, d.tx, dbtest.By(t, d.tx, "owner"), first); err != nil {
		t.Fatal(err)
	}
	data := lines(
		"value,Halvard,Sill,2021 to 2024,,,,foot bolt,foot-left foot-right,7.5,7,8,N·m,,document,Sill workshop letter,2nd,1,,,,",
		"value,Halvard,Sill,2021 to 2024,,,,rebound range,,17,16,18,,,measured,,,,on 3 forks,,,",
		"model,Tindra,Kelp,,fork,air,sealed,,,,,,,,,,,,,,,")
	file, plan := d.bring(t, data)
	if len(plan.Refused) > 0 || plan.Count(RowNew) != 2 || plan.Count(RowChanged) != 1 {
		t.Fatalf("the plan: %+v", plan)
	}
	var conflict fault.Conflict
	if _, err := Import(d.ctx, d.tx, dbtest.Act(t, d.tx, d.by), file, "another mark"); !errors.As(err, &conflict) {
		t.Errorf("another plan: %v", err)
	}
	if _, err := AddDocument(d.ctx, d.tx, d.by, d.model, "Owner’s booklet", ""); err != nil { // no change to what was shown
		t.Fatal(err)
	}
	if _, err := Import(d.ctx, d.tx, dbtest.Act(t, d.tx, d.by), file, plan.Mark); err != nil {
		t.Fatal(err)
	}
	now, err := Current(d.ctx, d.tx, d.model)
	if err != nil || now.ID != first || len(now.Values) != 1 {
		t.Errorf("in force: %+v, %v", now, err)
	}
	draft, err := Draft(d.ctx, d.tx, d.model)
	if err != nil || draft.Revision != 2 || len(draft.Values) != 2 || len(Differences(now, draft)) != 2 {
		t.Errorf("the draft: %+v, %v", draft, err)
	}
	if m, err := GetModel(d.ctx, d.tx, d.model); err != nil || m.Lowers != "arch front" || m.SpringLeg != "left" {
		t.Errorf("a model that the file says nothing of: %+v, %v", m, err)
	}
	if v := draft.at("foot bolt", "foot-left foot-right"); v == nil || v.NominalSI != 7.5 || v.Source() != "Sill workshop letter, 2nd, page 1" {
		t.Errorf("the changed value: %+v", v)
	}
	var gone fault.NotFound
	if _, err := Import(d.ctx, d.tx, dbtest.Act(t, d.tx, d.by), file, plan.Mark); !errors.As(err, &gone) {
		t.Errorf("twice: %v", err)
	}
	if _, plan = d.bring(t, lines("model,Halvard,Sill,2021 to 2024,fork,air,cartridge,,,,,,,,,,,,,,,")); plan.Any() || plan.Count(RowUnchanged) != 1 {
		t.Errorf("columns that the file has not: %+v", plan)
	}
	file, plan = d.bring(t, data)
	if plan.Any() || plan.Count(RowUnchanged) != 3 {
		t.Errorf("again: %+v", plan)
	}
	if _, err := Import(d.ctx, d.tx, dbtest.Act(t, d.tx, d.by), file, plan.Mark); !errors.As(err, &conflict) {
		t.Errorf("a file that changes nothing: %v", err)
	}
	other := lines("value,Halvard,Sill,2021 to 2024,,,,rebound range,,18,,,,,measured,,,,on 3 forks,,,")
	file, plan = d.bring(t, other)
	if err := PutValue(d.ctx, d.tx, d.by, draft.ID, draft.Version, 0, measured("travel", 0.15, quantity.Millimetre)); err != nil {
		t.Fatal(err)
	}
	if _, err := Import(d.ctx, d.tx, dbtest.Act(t, d.tx, d.by), file, plan.Mark); !errors.As(err, &conflict) {
		t.Errorf("over a changed draft: %v", err)
	}
	var forbidden fault.Forbidden
	if _, err := Import(d.ctx, d.tx, dbtest.By(t, d.tx, "desk"), file, plan.Mark); !errors.As(err, &forbidden) {
		t.Errorf("by the desk: %v", err)
	}
}

// Five thousand values of a hundred models; the bound is three seconds.
func TestFiveThousandValuesAreTakenInQuickly(t *testing.T) {
	d := empty(t)
	var file bytes.Buffer
	file.WriteString("row,maker,model,years,kind,spring,damper,key,place,value,low,high,unit,fluid,source,document,edition,page\n")
	n := 0
	for m := 0; n < 5000; m++ {
		fmt.Fprintf(&file, "model,Halvard,Fell %d,,fork,air,cartridge,,,,,,,,,,,\n", m)
		for _, k := range Keys {
			x := k.inUnit((k.UsualLow+k.UsualHigh)/2, k.Unit)
			fmt.Fprintf(&file, "value,Halvard,Fell %d,,,,,%s,,%s,,,%s,bath oil,document,Fell manual,1st,7\n", m, k.ID, decimals(&x), k.Unit)
			n++
		}
	}
	start := time.Now()
	d.takeIn(t, file.Bytes())
	took := time.Since(start)
	t.Logf("%d values, %d bytes: looked at twice and taken in within %v", n, file.Len(), took)
	rows, err := d.tx.Query(d.ctx, "select count(*) from sheet_value")
	if err != nil {
		t.Fatal(err)
	}
	if stored, err := pgx.CollectExactlyOneRow(rows, pgx.RowTo[int]); err != nil || stored != n {
		t.Errorf("%d values stored, want %d, %v", stored, n, err)
	}
	if took > 9*time.Second { // three times the bound, for a machine that does other things
		t.Errorf("it took %v", took)
	}
}
