package review

import (
	"context"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/stock"
)

// ledger posts moves at days of 2026 in London.
type ledger struct {
	t  *testing.T
	tx pgx.Tx
	by history.By
}

func (l ledger) item(code string, sale int64) int64 {
	l.t.Helper()
	d := stock.Details{Code: code, Name: "Part " + code, Kind: "wiper", Measure: stock.Each}
	if sale > 0 {
		d.SaleMinor = &sale
	}
	id, err := stock.Add(ctx, l.tx, dbtest.Act(l.t, l.tx, l.by), d)
	if err != nil {
		l.t.Fatal(err)
	}
	return id
}

func (l ledger) post(when string, p stock.Posting) stock.Move {
	l.t.Helper()
	by := dbtest.Act(l.t, l.tx, l.by)
	by.At = at(l.t, when)
	m, err := stock.Post(ctx, l.tx, by, p)
	if err != nil {
		l.t.Fatal(err)
	}
	return m
}

// A ledger worked through by hand: A is bought at 10 and used for 80 of 100, B at 5
// for 16, C at 1 for 4; A's sale price is 25, the others have none.
func TestPartsOfAPeriodByHand(t *testing.T) {
	tx := dbtest.Tx(t)
	l := ledger{t, tx, dbtest.By(t, tx, "mechanic")}
	s := newSmallShop(t, tx)
	s.brings("one", "Halvard Sill", "test-lower", "1 Sep 10:00", "9 Oct 10:00")
	a, b, c, idle := l.item("A", 2500), l.item("B", 0), l.item("C", 0), l.item("D", 0)
	l.post("2 Mar 10:00", stock.Posting{Item: idle, Kind: stock.Receive, Qty: 3, Cost: 900})
	l.post("2 Mar 10:00", stock.Posting{Item: a, Kind: stock.Receive, Qty: 8, Cost: 8000})
	l.post("2 Mar 10:00", stock.Posting{Item: b, Kind: stock.Receive, Qty: 10, Cost: 5000})
	l.post("2 Mar 10:00", stock.Posting{Item: c, Kind: stock.Receive, Qty: 9, Cost: 900})
	l.post("1 Apr 10:00", stock.Posting{Item: c, Kind: stock.Use, Qty: 5})
	l.post("14 Sep 10:00", stock.Posting{Item: a, Kind: stock.Use, Qty: 8, Job: s.jobs["one"]})
	l.post("24 Sep 10:00", stock.Posting{Item: a, Kind: stock.Receive, Qty: 2, Cost: 2400})
	l.post("25 Sep 10:00", stock.Posting{Item: b, Kind: stock.Use, Qty: 3, Job: s.jobs["one"]})
	l.post("26 Sep 10:00", stock.Posting{Item: b, Kind: stock.Use, Qty: 1})
	wrong := l.post("26 Sep 11:00", stock.Posting{Item: b, Kind: stock.Use, Qty: 5})
	by := dbtest.Act(t, tx, l.by)
	by.At = at(t, "26 Sep 12:00")
	if _, err := stock.TakeBack(ctx, tx, by, wrong.ID, "Not used"); err != nil {
		t.Fatal(err)
	}
	l.post("1 Oct 10:00", stock.Posting{Item: c, Kind: stock.Use, Qty: 4})
	s.waits("one", job.WaitingOnParts, "20 Sep 10:00", "22 Sep 22:00")

	now := at(t, "6 Oct 10:00")
	p := FullWeeks(4, now, zoned(t, "Europe/London")) // 7 September to 4 October
	r, err := PartsOf(ctx, tx, p, 6, now)
	if err != nil {
		t.Fatal(err)
	}
	if r.Used != (PartsSum{3, 10400}) || len(r.Items) != 3 {
		t.Fatalf("used %+v of %d rows, want 3 items for 10400", r.Used, len(r.Items))
	}
	for i, want := range []ItemUse{{ItemID: a, Amount: 8, CostMinor: 8000}, {ItemID: b, Amount: 4, CostMinor: 2000, Class: 0}, {ItemID: c, Amount: 4, CostMinor: 400, Class: 2}} {
		if got := r.Items[i]; got.ItemID != want.ItemID || got.Amount != want.Amount || got.CostMinor != want.CostMinor || got.Class != want.Class {
			t.Errorf("row %d: %+v, want %+v", i, got, want)
		}
	}
	if m := r.Margin; m.SaleMinor != 20000 || m.CostMinor != 8000 || m.Unpriced != 1500 {
		t.Errorf("margin %+v, want 20000 for 8000, and 1500 without a price", m)
	}
	for _, s := range r.Services {
		if want := map[string]int64{"test-lower": 9500, "": 900}[s.Code]; s.CostMinor != want {
			t.Errorf("%q used %d, want %d", s.Code, s.CostMinor, want)
		}
	}
	if len(r.Outs) != 2 || r.Outs[0].ItemID != a || r.Outs[0].Days != 10 || r.Outs[0].Running || r.Outs[1].Days != 5 || !r.Outs[1].Running || r.OutItems != 2 {
		t.Errorf("ran out: %+v, want A for 10 days and C for 5 so far", r.Outs)
	}
	if r.Waits != (Waits{1, 2.5}) {
		t.Errorf("waited %+v, want one job for 2.5 days", r.Waits)
	}
	if len(r.Dead) != 1 || r.Dead[0].ItemID != idle || r.DeadSum != (PartsSum{1, 900}) || r.Dead[0].LastUse != nil {
		t.Errorf("idle: %+v, want D for 900", r.Dead)
	}
	if len(r.Months) != 8 || r.Months[0].Value != 14800 || r.Months[1].CostMinor != 500 || r.Months[6].CostMinor != 10000 || !r.Months[7].Running {
		t.Errorf("months %+v", r.Months)
	}
	for when, got := range map[time.Time]int64{p.From: r.ValueThen, p.To: r.ValueEnd} {
		if want := valueOfMoves(t, tx, when); got != want {
			t.Errorf("on hand at %v: %d, and its last moves say %d", when, got, want)
		}
	}
}

// valueOfMoves is the value on hand the slow way: what the last move of every item
// up to then left.
func valueOfMoves(t *testing.T, tx pgx.Tx, when time.Time) (value int64) {
	t.Helper()
	err := tx.QueryRow(context.Background(), `select coalesce(sum(value_after), 0) from (select distinct on (item_id) value_after from move where at < $1
		order by item_id, seq desc) m`, when).Scan(&value)
	if err != nil {
		t.Fatal(err)
	}
	return value
}

func TestAnEmptyLedgerHasNoReview(t *testing.T) {
	now := at(t, "6 Oct 10:00")
	r, err := PartsOf(ctx, dbtest.Tx(t), FullWeeks(4, now, zoned(t, "Europe/London")), 12, now)
	if err != nil || !r.Begun.IsZero() || len(r.Months) != 0 {
		t.Errorf("%+v, %v; want nothing", r, err)
	}
}
