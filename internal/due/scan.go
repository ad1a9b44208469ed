package due

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
)

// Act opens a write under a name, which does nothing where the act of that name was
// committed before.
type Act func(ctx context.Context, name string, do func(pgx.Tx, history.By) error) error

const (
	// atOnce is how many units are reckoned and kept in one act: in a fraction of
	// a second, for which whoever touches one of them waits.
	atOnce = 500
	// remembered is how many days it is known how a scan went.
	remembered = 30
)

// Scan reckons all units anew: first what riders have in common, then the units
// part by part, at last how the forecasts of the year before came true. Begun
// again on its day it goes on behind what is reckoned; two at once share the
// parts.
func Scan(ctx context.Context, pool *db.Pool, now time.Time, act Act) error {
	b, err := readShop(ctx, pool)
	if errors.As(err, new(fault.NotFound)) { // the shop is not set up
		return nil
	}
	if err != nil {
		return fmt.Errorf("scan what is due: %w", err)
	}
	day := interval.Day(now, b.zone)
	if err := b.begin(ctx, pool, day, act); err != nil {
		return err
	}
	for {
		at, open, err := progress(ctx, pool, day)
		if err != nil {
			return fmt.Errorf("scan what is due: %w", err)
		}
		if !open {
			break
		}
		name := fmt.Sprint("due: behind unit ", at)
		if err := act(ctx, name, func(tx pgx.Tx, by history.By) error { return scanPart(ctx, tx, day, now) }); err != nil {
			return err
		}
	}
	return b.end(ctx, pool, day, act)
}

// begin fits the norm, unless that was done on the day.
func (b book) begin(ctx context.Context, pool *db.Pool, day time.Time, act Act) error {
	var begun bool
	if err := pool.QueryRow(ctx, "select exists (select from due_scan where day = $1)", day).Scan(&begun); err != nil || begun {
		return err
	}
	units, err := interval.Sample(ctx, pool)
	if err != nil {
		return err
	}
	norm, err := interval.FitTo(ctx, pool, b.zone, b.season, units, day)
	if err != nil {
		return err
	}
	return act(ctx, "due: begin", func(tx pgx.Tx, by history.By) error {
		if _, err := tx.Exec(ctx, "delete from due_scan where day < $1", day.AddDate(0, 0, -remembered)); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, "insert into due_scan (day, began_at) values ($1, $2) on conflict do nothing", day, by.At); err != nil {
			return err
		}
		return norm.Keep(ctx, tx, day)
	})
}

// progress is up to which unit the scan of a day has come, and whether it has to
// go on.
func progress(ctx context.Context, q db.Querier, day time.Time) (behind int64, open bool, err error) {
	err = q.QueryRow(ctx, `select behind, finished_at is null and exists (select from unit where id > behind)
		from due_scan where day = $1`, day).Scan(&behind, &open)
	return behind, open, err
}

// scanPart reckons the next units of the scan of a day, which it holds meanwhile.
func scanPart(ctx context.Context, tx pgx.Tx, day, now time.Time) error {
	rows, _ := tx.Query(ctx, `with held as materialized (select behind from due_scan where day = $1 for update)
		select id from unit where id > (select behind from held) order by id limit $2`, day, atOnce)
	units, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	if err != nil || len(units) == 0 {
		return err
	}
	if err := reckon(ctx, tx, units, now); err != nil {
		return err
	}
	_, err = tx.Exec(ctx, "update due_scan set behind = $2, units = units + $3 where day = $1", day, units[len(units)-1], len(units))
	return err
}

func (b book) end(ctx context.Context, pool *db.Pool, day time.Time, act Act) error {
	var ended bool
	if err := pool.QueryRow(ctx, "select finished_at is not null from due_scan where day = $1", day).Scan(&ended); err != nil || ended {
		return err
	}
	past, err := Backtest(ctx, pool, day)
	if err != nil {
		return err
	}
	return act(ctx, "due: end", func(tx pgx.Tx, by history.By) error {
		if err := past.keep(ctx, tx); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, "update due_scan set finished_at = $2 where day = $1", day, by.At)
		return err
	})
}

// Drain reckons anew the units that acts have touched and left: more of them than
// an act settles itself.
func Drain(ctx context.Context, pool *db.Pool, now time.Time, act Act) error {
	for n := 0; ; n++ {
		var any bool
		if err := pool.QueryRow(ctx, "select exists (select from due_stale)").Scan(&any); err != nil || !any {
			return err
		}
		err := act(ctx, fmt.Sprint("due: left over, part ", n), func(tx pgx.Tx, by history.By) error { return drainPart(ctx, tx, now) })
		if err != nil {
			return err
		}
	}
}

func drainPart(ctx context.Context, tx pgx.Tx, now time.Time) error {
	rows, _ := tx.Query(ctx, `with first as (select distinct unit_id from due_stale order by unit_id limit $1),
			gone as (delete from due_stale s using first where s.unit_id = first.unit_id returning s.unit_id)
		select distinct unit_id from gone`, atOnce)
	units, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	if err != nil || len(units) == 0 {
		return err
	}
	return reckon(ctx, tx, units, now)
}
