package web

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/stock"
)

// onShelf puts an item on the shelf, with so much of it.
func (s *site) onShelf(code, place string, measure stock.Measure, amount, cost int64) (id int64) {
	s.t.Helper()
	s.write(func(tx pgx.Tx, by history.By) (err error) {
		d := stock.Details{Code: code, Name: "Part " + code, Kind: "wiper", Measure: measure, Place: place}
		if measure != stock.Each {
			d.Kind = stock.Fluid
		}
		if id, err = stock.Add(context.Background(), tx, by, d); err != nil || amount == 0 {
			return err
		}
		_, err = stock.Post(context.Background(), tx, dbtest.Act(s.t, tx, by), stock.Posting{Item: id, Kind: stock.Receive, Qty: amount, Cost: cost})
		return err
	})
	return id
}

func (s *site) qty(item int64) int64 {
	s.t.Helper()
	i, err := stock.Get(context.Background(), s.pool, item)
	if err != nil {
		s.t.Fatal(err)
	}
	return i.Qty
}

func TestAPlaceIsCounted(t *testing.T) {
	s := server(t)
	first, second := s.onShelf("W-35", "A3", stock.Each, 10, 5000), s.onShelf("OIL-1", "A3", stock.Volume, 2_000_000, 4000)
	other := s.onShelf("W-36", "B1", stock.Each, 4, 2000)
	m := s.as(mechanic)
	m.get("/parts/count").want(200).wantWords("main", "Count A3")
	p := m.post("/parts/count", "what", "place", "place", "A3").want(303)
	at := p.to
	page := m.get(at).want(200).wantWords("main", "Last counted: never.")
	for _, secret := range []string{"10", "2 L"} {
		if strings.Contains(page.words("main"), secret) {
			t.Errorf("the page says %q before anything is counted: %s", secret, page.words("main"))
		}
	}
	line := func(fields ...string) *page2 { return &page2{m.post(at+"/line", fields...)} }

	line("item", fmt.Sprint(first), "counted", "").wrong(t, "counted", "0 if there is none")
	line("item", fmt.Sprint(first), "counted", "lots").wrong(t, "counted", "does not begin with a number")
	line("item", fmt.Sprint(first), "counted", "4006381333931").wrong(t, "counted", "")
	line("item", fmt.Sprint(first), "counted", "9").wantTo(fmt.Sprintf("%s?done=%d", at, first))
	m.get(fmt.Sprintf("%s?done=%d", at, first)).want(200).wantWords(".told", "9 pieces counted, the ledger said 10 pieces.")
	line("item", fmt.Sprint(second), "counted", "1.5 L").want(303)

	line("item", "", "scan", "nothing-like-it").wrong(t, "scan", "No item has that code")
	line("item", fmt.Sprint(first), "counted", "9", "scan", "w35").wantTo(fmt.Sprintf("%s?item=%d&n=10", at, first))
	page = m.get(fmt.Sprintf("%s?item=%d&n=10", at, first)).want(200)
	if v := page.value("counted"); v != "10" {
		t.Errorf("one more than nine reads %q", v)
	}
	// The next item that is scanned keeps what was typed for the one before.
	line("item", fmt.Sprint(first), "counted", "8", "scan", "W-36").wantTo(fmt.Sprintf("%s?item=%d&n=1&done=%d", at, other, first))
	m.get(fmt.Sprintf("%s?item=%d&n=1", at, other)).want(200).wantWords("main", "It is not kept here: its place is B1.")

	m.get(at + "/differences").want(403)
	o := s.as(owner)
	page = o.get(at+"/differences").want(200).wantWords("main", "2 pieces less").wantWords("main", "500 mL less").
		wantWords("main", "−£20.00").wantWords("main", "W-36")
	mark := page.value("mark")
	o.post(at+"/post", "mark", "of another day").want(409).wantWords("main", "changed since you opened it")
	o.post(at+"/post", "mark", mark).wantTo(at)
	if s.qty(first) != 8 || s.qty(second) != 1_500_000 || s.qty(other) != 4 {
		t.Errorf("left are %d, %d, %d; want 8, 1500000 and what was not counted", s.qty(first), s.qty(second), s.qty(other))
	}
	o.get(at).want(200).wantWords("header", "posted")
	o.get(at+"/differences").want(200).wantWords("main", "−£20.00")
	line("item", fmt.Sprint(first), "counted", "1").want(409)
}

type page2 struct{ *page }

func (p *page2) wrong(t *testing.T, field, sentence string) {
	t.Helper()
	if got := p.page.wrong(field); p.status != 422 || got == "" || !strings.Contains(got, sentence) {
		t.Errorf("%s: status %d, %q; want %q", field, p.status, got, sentence)
	}
}

func TestACountIsDropped(t *testing.T) {
	s := server(t)
	item := s.onShelf("W-35", "A3", stock.Each, 10, 5000)
	m := s.as(mechanic)
	at := m.post("/parts/count", "what", "items", "item", fmt.Sprint(item)).want(303).to
	m.post(at+"/line", "item", fmt.Sprint(item), "counted", "1").want(303)
	m.post(at + "/drop").wantTo("/parts/count")
	m.get("/parts/count").want(200).wantWords("main", "dropped")
	if s.qty(item) != 10 {
		t.Errorf("%d are left, want 10", s.qty(item))
	}
	m.post("/parts/count", "what", "place", "place", "nowhere").want(422).wantWords("main", "There is nothing to count.")
}

// What is below zero is offered as a count of its own.
func TestBelowZeroIsToCount(t *testing.T) {
	s := server(t)
	item := s.onShelf("W-35", "A3", stock.Each, 1, 500)
	if _, err := s.pool.Exec(context.Background(), "update shop set stock_below_zero = true"); err != nil {
		t.Fatal(err)
	}
	s.write(func(tx pgx.Tx, by history.By) error {
		_, err := stock.Post(context.Background(), tx, by, stock.Posting{Item: item, Kind: stock.Use, Qty: 3})
		return err
	})
	o := s.as(owner)
	o.get("/parts/count").want(200).wantWords("#wrong", "cannot be right").wantWords("main", "below zero: −2 pieces")
	at := o.post("/parts/count", "what", "wrong").want(303).to
	o.post(at+"/line", "item", fmt.Sprint(item), "counted", "4").want(303)
	o.post(at+"/post", "mark", o.get(at+"/differences").value("mark")).want(303)
	if s.qty(item) != 4 {
		t.Errorf("%d are left, want the 4 that were counted", s.qty(item))
	}
}
