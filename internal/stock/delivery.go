package stock

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
)

// Delivery is an amount of an item that came, and what all of it cost.
type Delivery struct {
	Item       int64
	Qty, Cost  int64
	Batch      string // as it stands on it; empty: none
	BestBefore *time.Time
}

// Deliver receives what came. A new batch without a day of its own is good for as
// long as the item keeps closed, counted from today in zone.
func Deliver(ctx context.Context, tx pgx.Tx, by history.By, d Delivery, zone *time.Location) (Move, error) {
	p := Posting{Item: d.Item, Kind: Receive, Qty: d.Qty, Cost: d.Cost}
	if d.Batch != "" {
		i, err := Get(ctx, tx, d.Item)
		if err != nil {
			return Move{}, err
		}
		if d.BestBefore == nil && i.ShelfDays != nil {
			y, m, day := by.At.In(zone).Date()
			good := time.Date(y, m, day+*i.ShelfDays, 0, 0, 0, 0, time.UTC)
			d.BestBefore = &good
		}
		if p.Batch, err = TakeBatch(ctx, tx, by, d.Item, d.Batch, d.BestBefore); err != nil {
			return Move{}, err
		}
	}
	return Post(ctx, tx, by, p)
}
