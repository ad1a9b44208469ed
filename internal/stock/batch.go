package stock

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Batch is one delivery of an item as its maker numbers it.
type Batch struct {
	ID         int64
	Code       string
	BestBefore *time.Time // the last day it is good for, at midnight UTC; nil: none is known
	Left       int64
	At         time.Time
}

const selectBatch = `select b.id, b.code, b.best_before, b.at, coalesce((select sum(qty) from move m where m.batch_id = b.id), 0)::bigint as left
	from batch b where b.item_id = $1`

// Batches lists those of an item, what goes bad first at the head.
func Batches(ctx context.Context, q db.Querier, item int64) ([]Batch, error) {
	rows, err := q.Query(ctx, selectBatch+" order by b.best_before nulls last, b.id", item)
	list, err := db.All[Batch](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list batches: %w", err)
	}
	return list, nil
}

// TakeBatch is the batch of an item with that code, made if it is new. One that is
// known keeps its day.
func TakeBatch(ctx context.Context, tx pgx.Tx, by history.By, item int64, code string, bestBefore *time.Time) (id int64, err error) {
	code = strings.TrimSpace(code)
	switch {
	case code == "":
		return 0, fault.Field("batch", "Type the batch that stands on it.")
	case utf8.RuneCountInString(code) > mostCode:
		return 0, fault.Field("batch", fmt.Sprintf("At most %d characters fit here.", mostCode))
	}
	err = tx.QueryRow(ctx, `insert into batch (item_id, code, best_before, actor_id, intent_id, at)
		values ($1, $2, $3, nullif($4, 0::bigint), $5, $6) on conflict (item_id, code) do nothing returning id`,
		item, code, bestBefore, by.Staff, by.Intent, by.At).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		err = tx.QueryRow(ctx, "select id from batch where item_id = $1 and code = $2", item, code).Scan(&id)
	}
	if err != nil {
		return 0, fmt.Errorf("take batch: %w", db.Translate(err))
	}
	return id, nil
}

// oldestBatch is what goes out next of an item kept by batch: that of the bottle in
// use if something of it is left, else what goes bad first; 0 where nothing is.
func oldestBatch(ctx context.Context, q db.Querier, item int64) (id int64, err error) {
	err = q.QueryRow(ctx, `select coalesce((select id from (`+selectBatch+`) b where "left" > 0
		order by id = (select batch_id from opened where item_id = $1 order by id desc limit 1) desc nulls last, best_before nulls last, id limit 1), 0)`,
		item).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("look for the batch in use: %w", err)
	}
	return id, nil
}

// Bottle is the one of an item that is open.
type Bottle struct {
	Batch      string // empty: not said
	BestBefore *time.Time
	OpenedDays int // how long it keeps open; 0: not said
	By         string
	At         time.Time
}

// GoodTill is the last day on which what is open is good, by its batch and by how
// long it keeps open; nil for one that nothing is known of. The clock is that of zone.
func (b Bottle) GoodTill(zone *time.Location) *time.Time {
	good := b.BestBefore
	if b.OpenedDays > 0 {
		y, m, d := b.At.In(zone).Date()
		open := time.Date(y, m, d+b.OpenedDays, 0, 0, 0, 0, time.UTC)
		if good == nil || open.Before(*good) {
			good = &open
		}
	}
	return good
}

// OpenBottles lists what is open of the items, by item.
func OpenBottles(ctx context.Context, q db.Querier, items ...int64) (map[int64]Bottle, error) {
	rows, err := q.Query(ctx, `select distinct on (o.item_id) o.item_id, coalesce(b.code, '') as batch, b.best_before,
			coalesce(i.opened_days, 0) as opened_days, coalesce(s.name, '') as by, o.at
		from opened o join item i on i.id = o.item_id left join batch b on b.id = o.batch_id left join staff s on s.id = o.actor_id
		where o.item_id = any ($1) order by o.item_id, o.id desc`, items)
	list, err := db.All[struct {
		ItemID int64
		Bottle
	}](rows, err)
	if err != nil {
		return nil, fmt.Errorf("look for open bottles: %w", err)
	}
	open := map[int64]Bottle{}
	for _, o := range list {
		open[o.ItemID] = o.Bottle
	}
	return open, nil
}

// OpenBottle says that a bottle or tin of an item is opened, of a batch where that
// is known (0: not). It is the one in use from then on.
func OpenBottle(ctx context.Context, tx pgx.Tx, by history.By, item, batch int64) error {
	i, err := Get(ctx, tx, item)
	if err != nil {
		return err
	}
	if i.Kind != Fluid && i.Kind != Grease {
		return fault.Conflict("Only a fluid or a grease is opened.")
	}
	_, err = tx.Exec(ctx, `insert into opened (item_id, batch_id, actor_id, intent_id, at)
		values ($1, nullif($2, 0::bigint), nullif($3, 0::bigint), $4, $5)`, item, batch, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("open a bottle: %w", db.Translate(err))
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "item", SubjectID: item, Kind: "bottle opened", Detail: map[string]any{"batch": batch}})
}
