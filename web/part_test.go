package web

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/stock"
)

// putPart adds an item and gives the address of its page.
func (s *site) putPart(d stock.Details) string {
	s.t.Helper()
	var id int64
	s.write(func(tx pgx.Tx, by history.By) (err error) {
		id, err = stock.Add(context.Background(), tx, by, d)
		return err
	})
	return partPath(id)
}

func (s *site) partCoded(code string) stock.Item {
	s.t.Helper()
	i, err := stock.ByCode(context.Background(), s.pool, code)
	if err != nil {
		s.t.Fatal(err)
	}
	return i
}

var (
	aWiper = stock.Details{Code: "W-35", Name: "Wiper 35 mm", Kind: "wiper", Measure: stock.Each, Place: "Drawer 3"}
	aFluid = stock.Details{Code: "F5", Name: "Damper fluid 5", Kind: stock.Fluid, Measure: stock.Volume, Batched: true}
)

func TestAPartIsAddedByForm(t *testing.T) {
	s := server(t)
	b := s.as(mechanic)
	b.get("/parts").want(200).wantWords("main", "Nothing is on the shelf yet").wantWords("nav [aria-current]", "Parts")
	intent := b.get("/parts/new").want(200).intent("/parts")
	var to string
	for range 2 {
		to = b.post("/parts", "intent", intent, "code", "F-5", "name", "Damper fluid 5", "kind", "fluid", "measure", "volume", "place", "A3",
			"sale", "24.50", "low", "500", "high", "2 L", "batched", "yes", "opened_days", "180", "nu40", "15.2", "nu100", "3.6").want(http.StatusSeeOther).to
	}
	i := s.partCoded("f5")
	if to != partPath(i.ID)+"?done=added" || *i.Low != 500_000 || *i.High != 2_000_000 || *i.SaleMinor != 2450 || !i.Batched || *i.OpenedDays != 180 {
		t.Fatalf("leads to %q; added %+v", to, i)
	}
	// 15.2 and 3.6 mm²/s: VG 15 has 13.5 to 16.5 mm²/s at 40 °C (ISO 3448).
	b.get(to).want(200).wantWords("[role=status]", "Added").wantWords(".facts", "below 500 mL, up to 2 L").wantWords(".facts", "£24.50 a litre").
		wantWords(".facts", "15.2 mm²/s at 40 °C, 3.6 at 100 °C, viscosity index").wantWords(".facts", "ISO VG 15").wantWords(".head .state", "none left")
	list := b.get("/parts").want(200)
	list.wantWords("tbody tr", "F-5, fluid").wantWords("tbody tr", "£24.50 a litre").wantWords("tbody .state", "none left")
}

func TestAPartThatCannotBeIsAskedForAgain(t *testing.T) {
	s := server(t)
	b := s.as(desk)
	s.putPart(aWiper)
	good := map[string]string{"code": "X1", "name": "Thing", "kind": "spacer", "measure": "each"}
	for _, c := range []struct{ name, value, field, words string }{
		{"code", "w 35", "code", "Another item has that code"},
		{"code", "--", "code", "Give it the code"},
		{"name", "", "name", "Give it a name"},
		{"kind", "", "kind", "Choose what it is"},
		{"measure", "yards", "measure", "Choose what it is counted in"},
		{"sale", "lots", "sale", ""},
		{"low", "1 L", "low", ""},
		{"high", "0", "high", "above zero"},
		{"barcode", "4006381333932", "barcode", "A digit of that barcode is wrong"},
		{"nu40", "15", "nu40", "Only a fluid"},
		{"shelf_days", "0", "shelf_days", "from 1 to 7300"},
		{"replaced_by", "nothing", "replaced_by", "No item has that code"},
		{"tax", "Z", "tax", "Choose one of the taxes"},
		{"models", "99", "models", "Choose models of the library"},
	} {
		fields := []string{c.name, c.value}
		for name, value := range good {
			if name != c.name {
				fields = append(fields, name, value)
			}
		}
		p := b.post("/parts", fields...).want(http.StatusUnprocessableEntity)
		if c.field == "models" { // there is no model to choose from, and the problem above says it
			p.wantWords("[role=alert]", c.words)
		} else if got := p.wrong(c.field); got == "" || !strings.Contains(got, c.words) {
			t.Errorf("%s %q: beside it %q, want %q", c.name, c.value, got, c.words)
		}
		if c.name != "name" && p.value("name") != "Thing" {
			t.Errorf("%s %q: what was typed is lost", c.name, c.value)
		}
	}
}

func TestAPartComesInAndGoesOut(t *testing.T) {
	s := server(t)
	b := s.as(mechanic)
	path := s.putPart(aWiper)
	b.form(path, path+"/receive", "in.qty", "0", "in.cost", "").want(http.StatusUnprocessableEntity)
	p := b.form(path, path+"/receive", "in.qty", "many", "in.cost", "12").want(http.StatusUnprocessableEntity)
	if p.wrong("in.qty") == "" || p.value("in.cost") != "12" {
		t.Errorf("beside the amount %q, the cost kept is %q", p.wrong("in.qty"), p.value("in.cost"))
	}
	b.form(path, path+"/receive", "in.qty", "10", "in.cost", "45", "in.per", "all").wantTo(path + "?done=receive")
	b.form(path, path+"/receive", "in.qty", "10", "in.cost", "5.50", "in.per", "priced").wantTo(path + "?done=receive")
	// 10 for £45 and 10 for £55 are 20 at the moving average of £5 (by hand).
	b.get(path).wantWords(".facts", "On hand20 pieces").wantWords(".facts", "Worth£100.00").wantWords(".facts", "£5.00 a piece, the moving average").
		wantWords(".facts", "£55.00 for 10 pieces before tax")

	p = b.form(path, path+"/out", "out.how", "write-off", "out.qty", "1").want(http.StatusUnprocessableEntity)
	if got := p.wrong("out.reason"); got != "Say why in a few words." {
		t.Errorf("beside the reason %q", got)
	}
	b.form(path, path+"/out", "out.how", "use", "out.qty", "21").want(http.StatusConflict).wantWords("[role=alert]", "20 pieces free")
	b.form(path, path+"/out", "out.how", "conjured", "out.qty", "1").want(http.StatusUnprocessableEntity)
	b.form(path, path+"/out", "out.how", "use", "out.qty", "2").wantTo(path + "?done=out")
	b.form(path, path+"/out", "out.how", "waste", "out.qty", "1", "out.reason", "torn at fitting").wantTo(path + "?done=out")
	page := b.get(path).want(200)
	page.wantWords(".ledger tbody tr:first-child", "4Wasted torn at fitting").wantWords(".ledger tbody tr:first-child", "−1 piece").
		wantWords(".ledger tbody tr:first-child", "£85.00")

	waste := page.Find("select[name='back.move'] option").First().AttrOr("value", "")
	if p := b.form(path, path+"/take-back", "back.move", waste).want(http.StatusUnprocessableEntity); p.wrong("back.reason") == "" {
		t.Error("taken back without a reason")
	}
	other := s.putPart(aFluid)
	b.post(other+"/take-back", "back.move", waste, "back.reason", "wrong page").want(http.StatusNotFound)
	b.form(path, path+"/take-back", "back.move", waste, "back.reason", "it is fine").wantTo(path + "?done=take-back")
	b.get(path).wantWords(".facts", "On hand18 pieces").wantWords(".ledger .state", "wasted, taken back since")
	csv := b.get(path + "/csv").want(200)
	// A mark stands before what a spreadsheet would reckon.
	if lines := strings.Split(strings.TrimSpace(csv.body), "\r\n"); len(lines) != 6 || !strings.Contains(lines[4], ",waste,'-1,'-5.00,'-5.00,17,85.00,,,torn at fitting,,") {
		t.Errorf("the ledger as a file: %q", lines)
	}
}

func TestAFluidIsKeptByBatchAndBottle(t *testing.T) {
	s := server(t)
	b := s.as(mechanic)
	fluid := aFluid
	days := 10
	fluid.OpenedDays = &days
	path := s.putPart(fluid)
	b.get(path).want(200).wantWords("[aria-labelledby=bottle]", "None was opened here yet")
	if p := b.form(path, path+"/receive", "in.qty", "1 L", "in.cost", "18").want(http.StatusUnprocessableEntity); !strings.Contains(p.wrong("in.batch"), "kept by batch") {
		t.Errorf("beside the batch %q", p.wrong("in.batch"))
	}
	b.form(path, path+"/receive", "in.qty", "1 L", "in.cost", "18", "in.batch", "L7", "in.best_before", "2026-10-01").wantTo(path + "?done=receive")
	b.form(path, path+"/receive", "in.qty", "1 L", "in.cost", "18", "in.batch", "L8", "in.best_before", "2028-01-31").wantTo(path + "?done=receive")
	// The tests' today is 13 October 2026.
	page := b.get(path).want(200).wantWords("[aria-labelledby=batches] tbody tr:first-child", "past: was good till 1 October").
		wantWords("[aria-labelledby=batches] tbody tr:last-child", "good till 31 January 2028")
	l8 := page.Find("select[name='open.batch'] option").Last().AttrOr("value", "")
	b.form(path, path+"/open", "open.batch", "9999").want(http.StatusUnprocessableEntity)
	b.form(path, path+"/open", "open.batch", l8).wantTo(path + "?done=open")
	b.get(path).wantWords("[aria-labelledby=bottle]", "soon over: good till 23 Octoberbatch L8")
	b.form(path, path+"/out", "out.how", "use", "out.qty", "40").wantTo(path + "?done=out")
	b.get(path).wantWords("[aria-labelledby=batches] tbody tr:last-child", "960 mL")
}

func TestAPartIsBoughtSomewhere(t *testing.T) {
	s := server(t)
	b := s.as(desk)
	path := s.putPart(aWiper)
	b.get("/suppliers").want(200).wantWords("main", "No supplier is on the list yet")
	b.get(path+"/change").want(200).wantWords("[aria-labelledby=sources]", "No supplier is on the list yet")
	if p := b.form("/suppliers/new", "/suppliers", "name", "", "lead_days", "soon", "mail", "x").want(http.StatusUnprocessableEntity); p.wrong("name") == "" || p.wrong("lead_days") == "" || p.wrong("mail") == "" {
		t.Errorf("beside name %q, days %q, mail %q", p.wrong("name"), p.wrong("lead_days"), p.wrong("mail"))
	}
	to := b.form("/suppliers/new", "/suppliers", "name", "Northgate Supply", "lead_days", "3", "minimum", "50", "order_days", "1", "order_days", "4", "mail", "orders@northgate.example").want(303).to
	supplier, _, _ := strings.Cut(to, "?")
	b.get("/suppliers").wantWords("tbody tr", "3 daysorders Mon, Thusmallest order £50.00")
	id := strings.TrimPrefix(supplier, "/suppliers/")

	forms := path + "/change"
	p := b.form(forms, path+"/source", "supplier", id, "pack", "none", "price", "much").want(http.StatusUnprocessableEntity)
	if p.wrong("pack") == "" || p.wrong("price") == "" {
		t.Errorf("beside pack %q, price %q", p.wrong("pack"), p.wrong("price"))
	}
	b.form(forms, path+"/source", "supplier", id, "supplier_code", "NG-100", "pack", "10", "price", "38").wantTo(path + "?done=source")
	b.get(path).wantWords("[aria-labelledby=sources] tbody", "Northgate Supply first choiceNG-100 10 pieces£38.00")
	b.get("/parts?scan=ng100").wantTo(path)
	b.get(supplier).want(200).wantWords("[aria-labelledby=bought]", "Wiper 35 mm")
	b.form(path, path+"/receive", "in.qty", "20", "in.cost", "38", "in.per", id).wantTo(path + "?done=receive")
	b.get(path).wantWords(".facts", "£76.00 for 20 pieces")
	b.post(path+"/source", "supplier", id, "version", "1", "press", "drop").wantTo(path + "?done=source")
	b.get(path).wantWords("[aria-labelledby=sources]", "No supplier is named yet")

	b.form(supplier, supplier, "press", "leave").wantTo(supplier + "?done=leave")
	b.get(supplier).wantWords(".head .state", "no longer bought from")
	b.form(supplier, supplier, "press", "return").wantTo(supplier + "?done=return")
	b.form(supplier, supplier, "press", "change", "name", "Northgate", "lead_days", "0").wantTo(supplier + "?done=change")
	b.get("/suppliers/99").want(404)
}

func TestPartsAreNarrowedAndPaged(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	for n := range 60 {
		s.putPart(stock.Details{Code: fmt.Sprintf("S%02d", n), Name: "Spacer", Kind: "spacer", Measure: stock.Each, Place: "Box 1"})
	}
	s.putPart(aWiper)
	first := b.get("/parts?kind=spacer").want(200)
	if n := first.Find("tbody tr").Length(); n != 50 {
		t.Fatalf("%d rows, want 50", n)
	}
	next := first.Find("main .below a").AttrOr("href", "")
	second := b.get(next).want(200).wantWords("tbody tr:last-child", "S59")
	if n := second.Find("tbody tr").Length(); n != 10 {
		t.Errorf("%d rows on the second page, want 10", n)
	}
	b.get("/parts?q=wip+35&place=Drawer+3").want(200).wantWords("tbody", "W-35")
	b.get("/parts?state=below+zero").want(200).wantWords("main", "No part fits all of that")
	b.get("/parts?scan=zzz").want(http.StatusUnprocessableEntity).wantWords("#f-scan-error", "No item has that code or barcode")

	path := partPath(s.partCoded("W-35").ID)
	b.form(path+"/change", path+"/retire").wantTo(path + "?done=retire")
	b.get("/parts?q=wiper").wantWords("main", "No part fits all of that")
	b.get("/parts?q=wiper&gone=yes").wantWords("tbody .state", "no longer kept")
	b.form(path+"/change", path+"/return").wantTo(path + "?done=return")
	b.get("/parts?q=wiper").wantWords("tbody", "W-35")
}

func TestACodeOfAPartLeadsToIt(t *testing.T) {
	s := server(t)
	b := s.as(desk)
	wiper := aWiper
	wiper.Barcode = "4006381333931"
	path := s.putPart(wiper)
	for _, code := range []string{"http%3A%2F%2Fdesk.test" + strings.ReplaceAll(path, "/", "%2F"), "4006381333931", "w35"} {
		b.get("/codes?code=" + code).wantTo(path)
		b.get("/find?q=" + code).wantTo(path)
	}
	b.get("/codes?code=http%3A%2F%2Fdesk.test%2Fparts%2F999").want(200).wantWords("h1", "Unknown code")
	label := b.get(path + "/label").want(200)
	label.wantWords(".label", "W-35").wantWords(".label", "Place Drawer 3")
	if label.Find(".label svg.qr path").Length() != 1 || label.Find(".label svg.bars rect").Length() == 0 {
		t.Error("the label has no codes")
	}
}

func TestAPartIsCorrected(t *testing.T) {
	s := server(t)
	b := s.as(mechanic)
	path, other := s.putPart(aWiper), s.putPart(aFluid)
	b.form(path, path+"/receive", "in.qty", "1", "in.cost", "1").want(303)
	fields := []string{"code", "W-35", "name", "Wiper, 35 mm", "kind", "wiper", "replaced_by", "f5"}
	b.form(path+"/change", path+"/change", append(fields, "measure", "mass")...).want(http.StatusUnprocessableEntity)
	b.form(path+"/change", path+"/change", append(fields, "measure", "each")...).wantTo(path + "?done=change")
	b.get(path).wantWords("h1", "Wiper, 35 mm").wantWords(".head", "Bought instead: Damper fluid 5, F5")
	b.post(path+"/change", append(fields, "measure", "each", "version", "1")...).want(http.StatusConflict)
	b.get(other).want(200)
}

func TestTheOwnerLetsPartsGoBelowZero(t *testing.T) {
	s := server(t)
	path, b := s.putPart(aWiper), s.as(mechanic)
	b.form(path, path+"/out", "out.how", "use", "out.qty", "1").want(http.StatusConflict).wantWords("[role=alert]", "none is free")
	o := s.as(owner)
	if got := o.get("/shop").row("Parts below zero"); got != "refused" {
		t.Errorf("the shop's page says %q", got)
	}
	o.post("/shop/below-zero", "version", "1").want(http.StatusUnprocessableEntity)
	o.form("/shop/below-zero", "/shop/below-zero", "may", "yes").wantTo("/shop?done=below")
	b.form(path, path+"/out", "out.how", "use", "out.qty", "1").wantTo(path + "?done=out")
	b.get(path).wantWords(".head .state", "below zero: count it")
	b.get("/parts?state=below+zero").wantWords("tbody", "W-35")
}
