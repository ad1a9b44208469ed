package order

import (
	"context"
	"errors"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/stock"
)

// Two who unpack one delivery both saw the order as it was: one of them puts it on
// the shelf, the other is told to look again.
func TestTwoReceiveADeliveryOnce(t *testing.T) {
	ctx, pool := context.Background(), dbtest.Clone(t)
	var (
		o     Order
		lines []Line
		by    history.By
	)
	write := func(do func(d desk)) {
		t.Helper()
		if err := pgx.BeginFunc(ctx, pool, func(tx pgx.Tx) error { do(desk{t: t, tx: tx, by: by}); return nil }); err != nil {
			t.Fatal(err)
		}
	}
	write(func(d desk) {
		by = dbtest.By(t, d.tx, "desk")
		d.by = by
		d.supplier = d.sells(stock.Supplier{Name: "Northgate Supply"})
		a, b := d.item("a", 5, 1000), d.item("b", 1, 200)
		o, lines = d.sent(b, a)
	})
	errs := make([]error, 4)
	var group sync.WaitGroup
	for i := range errs {
		write(func(d desk) { by = d.act() })
		act := by
		group.Go(func() {
			errs[i] = db.Write(ctx, pool, func(tx pgx.Tx) error {
				_, err := Receive(ctx, tx, act, o.ID, o.Version, []Counted{
					{Item: lines[0].ItemID, Line: lines[0].ID, Qty: 10}, {Item: lines[1].ItemID, Line: lines[1].ID, Qty: 5}})
				return err
			})
		})
	}
	group.Wait()
	done := 0
	for _, err := range errs {
		var conflict fault.Conflict
		switch {
		case err == nil:
			done++
		case !errors.As(err, &conflict):
			t.Errorf("the other is told %v", err)
		}
	}
	if i, err := stock.Get(ctx, pool, lines[0].ItemID); done != 1 || err != nil || i.Qty != 10 {
		t.Errorf("%d put it on the shelf, where %d lie, %v", done, i.Qty, err)
	}
}

// Drafts of several suppliers that begin at once have numbers of their own, and two
// wishes for one supplier come to one draft.
func TestDraftsBegunAtOnce(t *testing.T) {
	ctx, pool := context.Background(), dbtest.Clone(t)
	var (
		suppliers []int64
		acts      []history.By
	)
	err := pgx.BeginFunc(ctx, pool, func(tx pgx.Tx) error {
		d := desk{t: t, tx: tx, by: dbtest.By(t, tx, "desk")}
		for _, name := range []string{"Northgate Supply", "Harbour Parts", "Tarn Trade"} {
			suppliers = append(suppliers, d.sells(stock.Supplier{Name: name}))
		}
		for range 6 {
			acts = append(acts, d.act())
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	var group sync.WaitGroup
	for i, act := range acts {
		group.Go(func() {
			err := db.Write(ctx, pool, func(tx pgx.Tx) error {
				_, err := Begin(ctx, tx, act, suppliers[i%len(suppliers)])
				time.Sleep(10 * time.Millisecond)
				return err
			})
			if err != nil {
				t.Error(err)
			}
		})
	}
	group.Wait()
	if list, err := Open(ctx, pool); err != nil || len(list) != 3 {
		t.Errorf("%d drafts, %v; want 3", len(list), err)
	}
}
