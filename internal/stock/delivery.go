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

// KeepsTill is the last day that what comes at a time keeps closed; nil where nobody
// said how long.
func (i Item) KeepsTill(at time.Time, zone *time.Location) *time.Time {
	if i.ShelfDays == nil {
		return nil
	}
	y, m, day := at.In(zone).Date()
	good := time.Date(y, m, day+*i.ShelfDays, 0, 0, 0, 0, time.UTC)
	return &good
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
		if d.BestBefore == nil {
			d.BestBefore = i.KeepsTill(by.At, zone)
		}
		if p.Batch, err = TakeBatch(ctx, tx, by, d.Item, d.Batch, d.BestBefore); err != nil {
			return Move{}, err
		}
	}
	return Post(ctx, tx, by, p)
}
