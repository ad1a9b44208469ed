package browsertest_test

import (
	"context"
	"errors"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	shelf "damperdesk/internal/stock"
)

// kept are parts of the invented shop: a fluid kept by batch with an open bottle,
// and a wiper with a long name that is set aside, low and taken back of.
type kept struct{ fluid, wiper, supplier, file int64 }

const partsFile = "code,name,kind,measure,sale,stock,cost\nPG-1,Spacer ring,spacer,each,1.20,4,0.40\nPG-WIPER,Wiper,wiper,each,4.50,,\nPG-3,,spacer,each,,,\n"

// parts puts some on the shelf, once; the file is brought by Ragna.
func (s stock) parts() (k kept) {
	s.t.Helper()
	err := s.pool.QueryRow(s.t.Context(), `select (select id from item where code = 'PG-FLUID'), id, (select max(id) from supplier), (select max(id) from item_file)
		from item where code = 'PG-WIPER'`).Scan(&k.fluid, &k.wiper, &k.supplier, &k.file)
	if err == nil {
		return k
	}
	if !errors.Is(err, pgx.ErrNoRows) {
		s.t.Fatal(err)
	}
	owner := s.id("select id from staff where name = 'Ragna'")
	for _, step := range []func(ctx context.Context, tx pgx.Tx, by history.By) error{k.add, k.move, k.bring} {
		err := db.Write(s.t.Context(), s.pool, func(tx pgx.Tx) error {
			return step(s.t.Context(), tx, dbtest.Act(s.t, tx, history.By{At: time.Now(), Staff: owner, Roles: []string{"owner"}}))
		})
		if err != nil {
			s.t.Fatal(err)
		}
	}
	return k
}

func (k *kept) add(ctx context.Context, tx pgx.Tx, by history.By) (err error) {
	low, days, thin, thinner, price := int64(4), 180, 15.2, 3.6, int64(6200)
	if k.supplier, err = shelf.AddSupplier(ctx, tx, by, shelf.Supplier{Name: "Pageant Supply of the Lower Quay", Mail: "orders@pageant.example", LeadDays: 3, MinimumMinor: &price, OrderDays: []int16{1, 4}}); err != nil {
		return err
	}
	k.wiper, err = shelf.Add(ctx, tx, by, shelf.Details{Code: "PG-WIPER", Name: "Wiper with foam ring " + strings.Repeat("long", 12), Kind: "wiper", Measure: shelf.Each, Place: "Drawer 3", Low: &low})
	if err != nil {
		return err
	}
	k.fluid, err = shelf.Add(ctx, tx, by, shelf.Details{Code: "PG-FLUID", Name: "Damper fluid 5", Kind: shelf.Fluid, Measure: shelf.Volume, Batched: true,
		OpenedDays: &days, Nu40: &thin, Nu100: &thinner, ReplacedBy: k.wiper})
	if err != nil {
		return err
	}
	return shelf.PutSource(ctx, tx, by, shelf.Source{ItemID: k.wiper, SupplierID: k.supplier, Code: "PGS-3500", Pack: 10, PriceMinor: &price})
}

func (k *kept) move(ctx context.Context, tx pgx.Tx, by history.By) error {
	past := by.At.AddDate(0, -1, 0)
	for _, d := range []shelf.Delivery{{Item: k.wiper, Qty: 3, Cost: 1860}, {Item: k.fluid, Qty: 1_000_000, Cost: 1480, Batch: "L1", BestBefore: &past}, {Item: k.fluid, Qty: 500_000, Cost: 740, Batch: "L2"}} {
		if _, err := shelf.Deliver(ctx, tx, by, d, time.UTC); err != nil {
			return err
		}
	}
	wasted, err := shelf.Post(ctx, tx, by, shelf.Posting{Item: k.wiper, Kind: shelf.Waste, Qty: 1, Reason: "torn when it was pressed in, the stanchion had a burr"})
	if err != nil {
		return err
	}
	if _, err := shelf.TakeBack(ctx, tx, by, wasted.ID, "it was another one"); err != nil {
		return err
	}
	return shelf.OpenBottle(ctx, tx, by, k.fluid, 0)
}

func (k *kept) bring(ctx context.Context, tx pgx.Tx, by history.By) (err error) {
	k.file, err = shelf.BringFile(ctx, tx, by, "parts.csv", []byte(partsFile))
	return err
}
