package browsertest_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/order"
	ledger "damperdesk/internal/stock"
)

// bought is what a test orders: a wiper in packs of five with its own and the
// supplier's barcode, and a fluid that is kept by batch.
type bought struct {
	supplier, wiper, oil int64
	over, sent, draft    int64 // orders
}

// buys makes a supplier of that name with an order that is over, one that is sent
// and a draft.
func (s stock) buys(name, code string) (b bought) {
	s.t.Helper()
	err := db.Write(s.t.Context(), s.pool, func(tx pgx.Tx) (err error) {
		act := func() history.By {
			return dbtest.Act(s.t, tx, history.By{At: time.Now(), Roles: []string{"desk"}})
		}
		low, least, wiper, oil := int64(50), int64(20000), int64(6250), int64(2400)
		if b.supplier, err = ledger.AddSupplier(s.t.Context(), tx, act(), ledger.Supplier{Name: name, LeadDays: 4, MinimumMinor: &least, OrderDays: []int16{1, 4}}); err != nil {
			return err
		}
		b.wiper, err = ledger.Add(s.t.Context(), tx, act(), ledger.Details{Code: code + " W-35", Name: "Wiper set, 35 mm", Kind: "wiper", Measure: ledger.Each, Place: "A3", Low: &low})
		if err != nil {
			return err
		}
		b.oil, err = ledger.Add(s.t.Context(), tx, act(), ledger.Details{Code: code + " DF", Name: "Damper fluid", Kind: ledger.Fluid, Measure: ledger.Volume, Batched: true})
		if err != nil {
			return err
		}
		_, err = ledger.Add(s.t.Context(), tx, act(), ledger.Details{Code: code + " SP", Name: "Spacer that nobody sells", Kind: "spacer", Measure: ledger.Each, Low: &low})
		if err != nil {
			return err
		}
		for _, from := range []ledger.Source{
			{ItemID: b.wiper, SupplierID: b.supplier, Code: code + " 2200", Barcode: code + "-BAR-1", Pack: 5, PriceMinor: &wiper},
			{ItemID: b.oil, SupplierID: b.supplier, Code: code + " 2221", Pack: 1_000_000, PriceMinor: &oil},
		} {
			if err := ledger.PutSource(s.t.Context(), tx, act(), from); err != nil {
				return err
			}
		}
		for _, to := range []*int64{&b.over, &b.sent} {
			for _, w := range []order.Wish{{Item: b.wiper, Qty: 10}, {Item: b.oil, Qty: 1}} {
				if *to, err = order.AddLine(s.t.Context(), tx, act(), w); err != nil {
					return err
				}
			}
			if err := order.Send(s.t.Context(), tx, act(), *to, 0, nil, time.UTC); err != nil {
				return err
			}
		}
		lines, err := order.Lines(s.t.Context(), tx, b.over)
		if err != nil {
			return err
		}
		_, err = order.Receive(s.t.Context(), tx, act(), b.over, 0, []order.Counted{
			{Item: b.wiper, Line: lines[0].ID, Qty: 5, Short: order.Broken, Words: "One has a torn lip", Cancel: true},
			{Item: b.oil, Line: lines[1].ID, Qty: 1_000_000, Batch: "L76"}})
		if err != nil {
			return err
		}
		b.draft, err = order.AddLine(s.t.Context(), tx, act(), order.Wish{Item: b.oil, Qty: 1})
		return err
	})
	if err != nil {
		s.t.Fatal(err)
	}
	return b
}

// orderViews are the states of the pages of orders.
func orderViews(s stock) map[string][]view {
	b := s.buys("Northgate Supply", "NG")
	at := func(format string, id int64) string { return fmt.Sprintf(format, id) }
	draft := at("/orders/%d", b.draft)
	receive := at("/orders/%d/receive", b.sent)
	return map[string][]view{
		"/orders": {{"Odile", "/orders", nil}, {"Ines", "/orders", func(h hand) { h.press(`#content form .button`) }}},
		"/orders/advice": {{"Ines", "/orders/advice", nil}, {"Odile", "/orders/advice", func(h hand) {
			h.fill(at(`[name="%d.qty"]`, b.wiper), "some")
			h.press("#content form .main")
		}}},
		"/orders/season": {{"Odile", "/orders/season", nil}},
		"/shop/shelf": {{"Ragna", "/shop/shelf", nil}, {"Ragna", "/shop/shelf", func(h hand) {
			h.fill(`[name="order"]`, "nothing")
			h.press("main form button.main")
		}}},
		"/orders/{id}": {
			{"Odile", draft, nil}, {"Ines", draft, nil}, {"Odile", at("/orders/%d", b.sent), nil}, {"Odile", at("/orders/%d", b.over), nil},
			{"Odile", draft, func(h hand) {
				h.fill(`#content form [name="scan"]`, "nothing")
				h.press(`form[action$="/line"] .button`)
			}},
			{"Odile", draft, func(h hand) { h.fill(`td [name$=".qty"]`, "lots"); h.press(`form[action$="/lines"] .button`) }},
		},
		"/orders/{id}/print": {{"Odile", at("/orders/%d/print", b.sent), nil}},
		"/orders/{id}/receive": {
			{"Ines", receive, nil},
			{"Ines", receive, func(h hand) { h.scan("nobody’s"); h.reads("#f-scan-unknown", "No item has that code") }},
			{"Ines", receive, func(h hand) {
				h.fill(`[name="0.price"]`, "70")
				h.fill(`[name="0.qty"]`, "5")
				h.press(`[value="shelve"]`)
				h.reads("[role=status]", "not as ordered")
			}},
			{"Ines", receive, func(h hand) { h.fill(`[name="1.qty"]`, "1 L"); h.press(`[value="shelve"]`) }},
			{"Ines", at("/orders/%d/receive", b.draft), nil},
		},
	}
}

// received unpacks a delivery at the bench with a hand scanner, which is a keyboard
// that ends with Enter, with and without scripts.
func received(t *testing.T, d desk, s stock) {
	b := s.buys("Harbour Parts", "HB")
	receive := fmt.Sprintf("/orders/%d/receive", b.sent)
	h := d.sit(t, "Ines", 1024, 768)
	h.goTo(receive)
	h.holds("a delivery to unpack")
	h.must(h.Resize(1024, 768), "be a tablet again")
	h.goTo(receive)
	h.scan(fmt.Sprintf("http://desk.test:8080/parts/%d", b.wiper))
	h.reads("[role=status]", "Wiper set, 35 mm (HB W-35): 5 pieces counted.")
	h.scan("nobody’s label")
	h.reads("#f-scan-unknown", "“nobody’s label”: No item has that code or barcode.")
	h.scan("HB-BAR-1")
	h.reads("[role=status]", "10 pieces counted.")
	h.scan("HB DF")
	h.reads("[role=status]", "Damper fluid (HB DF): 1 L counted.")
	h.goTo(receive) // loaded again: nothing is lost
	h.reads(".counting", "complete")
	h.holds("a delivery that is counted")
	h.must(h.Resize(1024, 768), "be a tablet again")

	h.must(h.WithoutScripts(), "turn scripts off")
	h.goTo(receive)
	h.scan("HB 2221")
	h.reads("[role=status]", "Damper fluid (HB DF): 2 L counted.")
	h.reads(".counting", "1 L too many")
	h.fill(`[name="1.qty"]`, "1 L")
	h.press(`[value="shelve"]`)
	h.reads("#content .problem", "Type the batch that stands on it.")
	h.fill(`[name="1.batch"]`, "L77")
	h.fill(`[name="1.best"]`, time.Now().AddDate(2, 0, 0).Format(time.DateOnly))
	h.press(`[value="shelve"]`)
	h.isAt(fmt.Sprintf("/orders/%d?done=shelved", b.sent), "with everything counted")
	h.reads("[role=status]", "What came is on the shelf.")
	h.reads(".head .state", "received")
	for item, want := range map[int64]int64{b.wiper: 5 + 10, b.oil: 2_000_000} {
		if got := s.id("select qty from balance where item_id = $1", item); got != want {
			t.Errorf("%d are on the shelf, want %d", got, want)
		}
	}
}
