package browsertest_test

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	things "damperdesk/internal/stock"
	"damperdesk/web/browsertest"
)

// shelf puts three items on a place of the walk's own, and gives their ids.
func (s stock) shelf(place string) (ids []int64) {
	s.t.Helper()
	err := db.Write(s.t.Context(), s.pool, func(tx pgx.Tx) error {
		act := func() history.By {
			return dbtest.Act(s.t, tx, history.By{At: time.Now(), Roles: []string{"owner"}})
		}
		for i, name := range []string{"Wiper set, 35 mm", "Foam rings, 35 mm", "Lower-leg oil"} {
			d := things.Details{Code: fmt.Sprintf("%s-%d00", place, i+1), Name: name, Kind: "wiper", Measure: things.Each, Place: place}
			cost, qty := int64(4000), int64(10)
			if i == 2 {
				d.Kind, d.Measure, qty = things.Fluid, things.Volume, 2_000_000
			}
			id, err := things.Add(s.t.Context(), tx, act(), d)
			if err != nil {
				return err
			}
			if _, err := things.Post(s.t.Context(), tx, act(), things.Posting{Item: id, Kind: things.Receive, Qty: qty, Cost: cost}); err != nil {
				return err
			}
			ids = append(ids, id)
		}
		return errors.Join(things.LogWaste(s.t.Context(), tx, act(), things.NewWaste{Kind: things.UsedOil, Amount: 3_000_000, Container: "oil drum 2"}),
			things.TakeWaste(s.t.Context(), tx, act(), things.NewPickup{Carrier: "Fairlead Carriers", Document: "F-1041", TakenOn: time.Now(),
				Amounts: map[things.WasteKind]int64{things.UsedOil: 1_000_000}}, time.Now()))
	})
	if err != nil {
		s.t.Fatal(err)
	}
	return ids
}

// counting is a count of that place with one line that differs.
func (s stock) counting(place string) (count int64) {
	s.t.Helper()
	ids := s.shelf(place)
	err := db.Write(s.t.Context(), s.pool, func(tx pgx.Tx) (err error) {
		by := dbtest.Act(s.t, tx, history.By{At: time.Now(), Roles: []string{"owner"}})
		if count, err = things.BeginCount(s.t.Context(), tx, by, place); err != nil {
			return err
		}
		return things.TypeCount(s.t.Context(), tx, by, count, ids[0], 9)
	})
	if err != nil {
		s.t.Fatal(err)
	}
	return count
}

// shelfViews are those of counts, of waste and of the review of parts.
func shelfViews(s stock, place string) map[string][]view {
	count := s.counting(place)
	at := fmt.Sprintf("/parts/count/%d", count)
	return map[string][]view{
		"/parts/count": {{"Ines", "/parts/count", nil}},
		"/parts/count/{id}": {
			{"Ines", at, nil}, {"Ragna", at, func(h hand) {
				h.fill(`[name="scan"]`, "nothing like it")
				h.press(".counting .main")
			}},
		},
		"/parts/count/{id}/differences": {{"Ragna", at + "/differences", nil}},
		"/parts/waste": {{"Ines", "/parts/waste", nil}, {"Ines", "/parts/waste", func(h hand) {
			h.fill(`[name="carrier"]`, "Fairlead Carriers")
			h.fill(`[name="document"]`, "F-1042")
			h.press(`form[action="/parts/waste/pickup"] .button`)
		}}},
		"/parts/waste/sheet": {{"Ines", "/parts/waste/sheet", nil}},
		"/parts/review":      {{"Ragna", "/parts/review", nil}, {"Ragna", "/parts/review?p=pick&from=2026-10-12&to=2026-10-01", nil}},
	}
}

// countedShelf counts a place with a scanner, and without scripts, and looks at every
// page on the way.
func countedShelf(t *testing.T, d desk, s stock) {
	for _, list := range shelfViews(s, "Walk1") {
		for _, v := range list {
			h := d.sit(t, v.who, screen.width, screen.height)
			h.theme("light")
			h.look(v)
		}
	}
	ids := s.shelf("Walk2")
	h := d.sit(t, "Ines", 1024, 768)
	h.goTo("/parts/count")
	h.press(`button[value="Walk2"]`)
	at := h.path()
	count := s.id("select max(id) from stock_count")
	value := func(selector string) string {
		v, err := browsertest.Eval[string](h.Tab, `document.querySelector(`+quote(selector)+`)?.value ?? "none"`)
		h.must(err, "read "+selector)
		return v
	}

	h.scan("Walk2-200")
	h.isAt(fmt.Sprintf("%s?item=%d&n=1", at, ids[1]), "an item that is scanned")
	h.scan("Walk2-200")
	h.isAt(fmt.Sprintf("%s?item=%d&n=2", at, ids[1]), "the same one again")
	h.must(h.Focus(`[name="counted"]`), "go to the amount")
	h.scan("Walk2-200")
	h.isAt(fmt.Sprintf("%s?item=%d&n=3", at, ids[1]), "with the amount in focus")
	if v := value(`[name="counted"]`); v != "3" {
		t.Errorf("three scans read %q", v)
	}
	more(h)
	h.scan("Walk2-100")
	h.isAt(fmt.Sprintf("%s?item=%d&n=1&done=%d", at, ids[0], ids[1]), "the next item")
	h.reads(".told", "4 pieces counted, the ledger said 10 pieces.")
	more(h)
	h.press(".counting .main")
	h.reads(".told", "2 pieces counted")
	h.reads(".counting h2", "Lower-leg oil")
	h.must(h.WithoutScripts(), "turn scripts off")
	h.goTo(at)
	h.fill(`[name="counted"]`, "1.5 L")
	h.press(".counting .main")
	h.reads("#counted + table", "500 mL less")

	o := d.sit(t, "Ragna", 1440, 900)
	o.goTo(at + "/differences")
	o.reads("main", "−")
	o.press(`form[action$="/post"] .main`)
	o.reads("header", "posted")
	if left := s.id("select qty from balance where item_id = $1", ids[1]); left != 4 {
		t.Errorf("%d are left after count %d, want 4", left, count)
	}
}

// more presses the plus beside the amount, once its script has put it there.
func more(h hand) {
	h.t.Helper()
	h.wait(".stepper", "+", 5*time.Second)
	_, err := browsertest.Eval[bool](h.Tab, `(document.querySelector('.stepper [data-by="1"]').click(), true)`)
	h.must(err, "press plus")
}
