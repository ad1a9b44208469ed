package web

import (
	"context"
	"encoding/csv"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/order"
	"damperdesk/internal/stock"
)

// trade is a shop with a supplier and what is bought there, by code.
type trade struct {
	*site
	supplier int64
	items    map[string]int64
}

func trading(t *testing.T) trade {
	t.Helper()
	s := trade{server(t), 0, map[string]int64{}}
	least, low, high := int64(10000), int64(6), int64(12)
	s.write(func(tx pgx.Tx, by history.By) (err error) {
		s.supplier, err = stock.AddSupplier(context.Background(), tx, by, stock.Supplier{Name: "Northgate Supply", Account: "WL-4", LeadDays: 4, MinimumMinor: &least, OrderDays: []int16{1, 4}})
		return err
	})
	for code, d := range map[string]stock.Details{
		"W-35":  {Name: "Wiper, 35 mm", Kind: "wiper", Measure: stock.Each, Low: &low, High: &high},
		"OIL-5": {Name: "Damper fluid", Kind: stock.Fluid, Measure: stock.Volume, Batched: true},
	} {
		d.Code = code
		pack, price := int64(5), int64(1000)
		if d.Measure == stock.Volume {
			pack, price = 1_000_000, 2400
		}
		s.write(func(tx pgx.Tx, by history.By) error {
			id, err := stock.Add(context.Background(), tx, by, d)
			s.items[code] = id
			if err != nil {
				return err
			}
			return stock.PutSource(context.Background(), tx, by, stock.Source{ItemID: id, SupplierID: s.supplier, Code: "NG " + code, Pack: pack, PriceMinor: &price})
		})
	}
	return s
}

// sent is an order of ten wipers and two litres of fluid that went out.
func (s trade) sent() order.Order {
	s.t.Helper()
	var o order.Order
	s.write(func(tx pgx.Tx, by history.By) (err error) {
		var id int64
		for code, qty := range map[string]int64{"W-35": 10, "OIL-5": 2_000_000} {
			if id, err = order.AddLine(context.Background(), tx, by, order.Wish{Item: s.items[code], Qty: qty}); err != nil {
				return err
			}
		}
		if err := order.Send(context.Background(), tx, by, id, 0, nil, time.UTC); err != nil {
			return err
		}
		o, err = order.Get(context.Background(), tx, id)
		return err
	})
	return o
}

func (s trade) item(code string) stock.Item {
	s.t.Helper()
	i, err := stock.Get(context.Background(), s.pool, s.items[code])
	if err != nil {
		s.t.Fatal(err)
	}
	return i
}

func TestAnOrderFromDraftToSending(t *testing.T) {
	s := trading(t)
	b, bench := s.as(desk), s.as(mechanic)
	bench.get("/orders").want(200).wantWords("main", "No order is open")
	to := bench.form("/orders", "/orders", "supplier", fmt.Sprint(s.supplier)).want(http.StatusSeeOther).to
	bench.get(to).want(200).wantWords("main", "Nothing is on this draft yet")
	bench.form(to, to+"/line", "scan", "ng oil-5", "qty", "1.2 L").wantTo(to + "?done=line")
	bench.form(to, to+"/line", "scan", "w35").wantTo(to + "?done=line")
	if p := bench.form(to, to+"/line", "scan", "nothing").want(422); p.wrong("scan") == "" || p.value("scan") != "nothing" {
		t.Errorf("beside what is not known: %q, kept %q", p.wrong("scan"), p.value("scan"))
	}
	p := bench.get(to).wantWords("tbody tr:nth-child(1)", "2 packs of 1 L").wantWords("tbody tr:nth-child(2)", "1 pack of 5 pieces").
		wantWords(".facts", "£100.00: £42.00 lacking").wantWords(".facts", "Thursday; next: 15 October").wantWords(".facts", "not enough history").
		wantWords("aside", "The front desk or an owner sends it")
	wiper := p.Find("tbody tr:nth-child(2) input[name=line]").AttrOr("value", "")
	if p := b.form(to, to+"/lines", "line", wiper, wiper+".qty", "lots", wiper+".price", "11").want(422); p.wrong(wiper+".qty") == "" || p.value(wiper+".price") != "11" {
		t.Error("what cannot be is not asked for again with what was typed")
	}
	b.form(to, to+"/lines", "line", wiper, wiper+".qty", "27", wiper+".price", "11").wantTo(to + "?done=lines")
	b.get(to).wantWords("tbody tr:nth-child(2)", "6 packs of 5 pieces").wantWords("tbody tr:nth-child(2)", "£66.00").wantWords(".facts", "£100.00, reached")
	if status := bench.post(to+"/send", "version", "1").status; status != http.StatusForbidden {
		t.Errorf("a mechanic sends it: %d", status)
	}
	b.get(to+"/print").want(200).wantWords(".letter", "Our account WL-4").wantWords(".letter tbody tr:nth-child(2)", "NG W-35").wantWords(".letter", "In all £114.00, before tax")
	rows, err := csv.NewReader(strings.NewReader(b.get(to + "/csv").want(200).body)).ReadAll()
	if err != nil || len(rows) != 3 || strings.Join(rows[2], "|") != "NG W-35|W-35|Wiper, 35 mm|6|30|11.00" {
		t.Errorf("the file: %v, %v", rows, err)
	}
	if got := b.get(to).value("expected_on"); got != "2026-10-19" { // Thursday the 15th and 4 days
		t.Errorf("expected on %s", got)
	}
	b.form(to, to+"/send", "expected_on", "2026-10-20").wantTo(to + "?done=send")
	b.get(to).wantWords(".head", "sent").wantWords(".head", "expected 20 October")
	if status := b.post(to+"/lines", "version", "9").status; status != http.StatusConflict {
		t.Errorf("a sent order is changed: %d", status)
	}
	b.form(to, to+"/await", "expected_on", "2026-10-26").wantTo(to + "?done=await")
	b.form(to, to+"/note", "note", "Rang, sold out till Monday").wantTo(to + "?done=note")
	if p := b.form(to, to+"/close", "reason", " ").want(422); p.wrong("reason") == "" {
		t.Error("closed without a reason")
	}
	b.get("/orders").wantWords("tbody tr", "sent").wantWords("tbody tr", "26 October")
	s.pass(20 * 24 * time.Hour)
	b.get("/orders").wantWords("tbody tr", "sent, late")
	b.form(to, to+"/close", "reason", "Sold out for good").wantTo(to + "?done=close")
	b.get(to).wantWords(".more", "Sold out for good").wantWords(".head", "closed")
	b.get("/orders").wantWords("#over + table", "Order 1")
}

// unpacking is the receive page of an order as somebody has it open.
type unpacking struct {
	*browser
	path string
}

// send presses a button with these fields changed.
func (u unpacking) send(do string, fields ...string) *page {
	u.t.Helper()
	p := u.get(u.path).want(200)
	form := []string{"do", do}
	changed := map[string]bool{}
	for i := 0; i < len(fields); i += 2 {
		changed[fields[i]] = true
	}
	for _, input := range p.Find(".counting").Find("input, select").EachIter() {
		name := input.AttrOr("name", "")
		if kind := input.AttrOr("type", ""); changed[name] || kind == "checkbox" && input.AttrOr("checked", "no") == "no" {
			continue
		}
		value := input.AttrOr("value", "")
		if input.Is("select") {
			value = input.Find("option[selected]").AttrOr("value", "")
		}
		form = append(form, name, value)
	}
	return u.post(u.path, append(form, fields...)...)
}

// row is the place of an item on the page.
func (u unpacking) row(item int64) string {
	u.t.Helper()
	name := u.get(u.path).Find(fmt.Sprintf(`.counting input[name$=".item"][value="%d"]`, item)).First().AttrOr("name", "")
	return strings.TrimSuffix(name, "item")
}

func TestADeliveryIsScannedAndShelved(t *testing.T) {
	s := trading(t)
	o := s.sent()
	u := unpacking{s.as(mechanic), orderPath(o.ID, "") + "/receive"}
	u.get(u.path).want(200).wantWords(".counting", "2 packs of 5 pieces to come").wantWords(".counting", "Nothing is counted yet")
	scanned := fmt.Sprint("?scanned=", s.items["W-35"])
	u.send("scan", "scan", "W-35").wantTo(u.path + scanned)
	u.get(u.path+scanned).wantWords("[role=status]", "Wiper, 35 mm (W-35): 5 pieces counted.").wantWords(".counting", "5 pieces missing")
	u.send("scan", "scan", "NG-W35").wantTo(u.path + scanned)
	u.get(u.path).wantWords(".counting", "complete")
	to := u.send("scan", "scan", "nobody’s").want(http.StatusSeeOther).to
	u.get(to).wantWords("#f-scan-unknown", "“nobody’s”: No item has that code or barcode.")
	if got := s.item("W-35").Qty; got != 0 {
		t.Fatalf("%d are on the shelf before they are put there", got)
	}
	oil, wiper := u.row(s.items["OIL-5"]), u.row(s.items["W-35"])
	if p := u.send("shelve", oil+"qty", "1 L").want(422); p.wrong(oil+"batch") == "" || p.value(wiper+"qty") != "10" || p.value(oil+"qty") != "1 L" {
		t.Errorf("without a batch: %q; kept %q and %q", p.wrong(oil+"batch"), p.value(wiper+"qty"), p.value(oil+"qty"))
	}
	fields := []string{oil + "qty", "1 L", oil + "batch", "L77", oil + "best", "2028-01-31", oil + "short", "short", oil + "words", "One bottle leaks",
		wiper + "price", "11", wiper + "keep", "yes"}
	u.send("shelve", fields...).wantTo(u.path + "?done=prices")
	u.get(u.path+"?done=prices").wantWords("[role=status]", "Some prices are not as ordered").wantWords(".counting", "£10.00 as ordered, £11.00 now, +10")
	if got := s.item("W-35").Qty; got != 0 {
		t.Fatalf("a price that was not seen is on the shelf")
	}
	u.send("shelve").wantTo(orderPath(o.ID, "shelved"))
	if i := s.item("W-35"); i.Qty != 10 || i.Value != 2200 {
		t.Errorf("%d on the shelf, worth %d", i.Qty, i.Value)
	}
	u.get(orderPath(o.ID, "")).wantWords(".head", "part received").wantWords("tbody", "short: One bottle leaks").wantWords("tbody", "1 L")
	list, err := stock.Sources(context.Background(), s.pool, s.items["W-35"])
	if err != nil || *list[0].PriceMinor != 1100 {
		t.Errorf("the supplier’s price: %+v, %v", list, err)
	}
	oil = u.row(s.items["OIL-5"])
	u.send("shelve", oil+"qty", "1 L", oil+"batch", "L78").wantTo(orderPath(o.ID, "shelved"))
	u.get(orderPath(o.ID, "")).wantWords(".head .state", "received")
	u.get(u.path).wantWords("main", "Nothing of this order is awaited")
}

func TestTwoUnpackOneDelivery(t *testing.T) {
	s := trading(t)
	o := s.sent()
	path := orderPath(o.ID, "") + "/receive"
	one, other := unpacking{s.as(mechanic), path}, unpacking{s.as(desk), path}
	version := one.get(path).value("version")
	wiper := one.row(s.items["W-35"])
	one.send("shelve", wiper+"qty", "5").want(http.StatusSeeOther)
	p := other.send("shelve", wiper+"qty", "5", "version", version).want(http.StatusConflict)
	if p.wantWords(".problem", "Somebody else changed this order"); p.value(wiper+"qty") != "5" {
		t.Errorf("what was typed is lost: %q", p.value(wiper+"qty"))
	}
	if got := s.item("W-35").Qty; got != 5 {
		t.Errorf("%d are on the shelf of a delivery of 5", got)
	}
}

func TestWhatWasNotOrderedIsCounted(t *testing.T) {
	s := trading(t)
	var o order.Order
	s.write(func(tx pgx.Tx, by history.By) error {
		id, err := order.AddLine(context.Background(), tx, by, order.Wish{Item: s.items["W-35"], Qty: 5})
		if err != nil {
			return err
		}
		o.ID = id
		return order.Send(context.Background(), tx, by, id, 0, nil, time.UTC)
	})
	u := unpacking{s.as(desk), orderPath(o.ID, "") + "/receive"}
	u.send("scan", "scan", "oil-5").want(http.StatusSeeOther)
	u.get(u.path).wantWords(".counting", "not ordered")
	oil := u.row(s.items["OIL-5"])
	if p := u.send("shelve").want(422); p.wrong(oil+"batch") == "" {
		t.Error("what was not ordered needs no batch")
	}
	u.send("shelve", oil+"batch", "L1", oil+"price", "20").wantTo(orderPath(o.ID, "shelved"))
	if i := s.item("OIL-5"); i.Qty != 1_000_000 || i.Value != 2000 {
		t.Errorf("%+v", i)
	}
	u.get(orderPath(o.ID, "")).wantWords("tbody", "not ordered").wantWords(".head .state", "part received")
}

func TestAdviceGoesOnDrafts(t *testing.T) {
	s := trading(t)
	b := s.as(mechanic)
	wiper := fmt.Sprint(s.items["W-35"])
	b.get("/orders/advice").want(200).wantWords("tbody", "0 free, 0 on order, ordered below 6, filled up to 12: 12, in packs of 5: 15").wantWords("tbody", "Northgate Supply")
	if p := b.form("/orders/advice", "/orders/advice", "take", wiper, wiper+".qty", "some").want(422); p.wrong(wiper+".qty") == "" || p.value(wiper+".qty") != "some" {
		t.Error("an amount that is none is not asked for again")
	}
	b.form("/orders/advice", "/orders/advice").want(http.StatusConflict)
	to := b.form("/orders/advice", "/orders/advice", "take", wiper, wiper+".qty", "20").want(http.StatusSeeOther).to
	b.get(to).want(200).wantWords("tbody", "4 packs of 5 pieces").wantWords("[role=status]", "on the drafts")
	b.get("/orders/advice").wantWords("main", "Nothing is to be ordered")
}
