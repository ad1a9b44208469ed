package advice

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/order"
	"damperdesk/internal/stat"
)

// Run is a reckoning of all items that are kept.
type Run struct {
	ID         int64
	AskedBy    string // empty: it came by the clock
	AskedAt    time.Time
	Total      *int // nil: it has not begun
	Done       int
	FinishedAt *time.Time
	FailedAt   *time.Time
}

// Open reports whether it is under way.
func (r Run) Open() bool { return r.ID != 0 && r.FinishedAt == nil && r.FailedAt == nil }

const selectRun = `select r.id, coalesce(s.name, '') as asked_by, r.asked_at, r.total, r.done, r.finished_at, r.failed_at
	from advice_run r left join staff s on s.id = r.asked_by`

// Last reads the newest run and the newest that finished; either is zero where there
// is none.
func Last(ctx context.Context, q db.Querier) (newest, finished Run, err error) {
	for _, r := range []struct {
		to    *Run
		where string
	}{{&newest, ""}, {&finished, " where r.finished_at is not null"}} {
		rows, err := q.Query(ctx, selectRun+r.where+" order by r.id desc limit 1")
		list, err := db.All[Run](rows, err)
		if err != nil {
			return newest, finished, fmt.Errorf("read when it was reckoned: %w", err)
		}
		if len(list) > 0 {
			*r.to = list[0]
		}
	}
	return newest, finished, nil
}

// givenUp is after how long a run that does not end stands in nobody's way.
const givenUp = 2 * time.Hour

// Ask begins a run unless one is under way; fresh says whether it did.
func Ask(ctx context.Context, tx pgx.Tx, by history.By) (run int64, fresh bool, err error) {
	_, err = tx.Exec(ctx, "update advice_run set failed_at = $1 where finished_at is null and failed_at is null and asked_at < $2", by.At, by.At.Add(-givenUp))
	if err != nil {
		return 0, false, fmt.Errorf("ask for advice: %w", err)
	}
	err = tx.QueryRow(ctx, `insert into advice_run (asked_by, asked_at) values (nullif($1, 0::bigint), $2)
		on conflict ((true)) where finished_at is null and failed_at is null do nothing returning id`, by.Staff, by.At).Scan(&run)
	if errors.Is(err, pgx.ErrNoRows) {
		err = tx.QueryRow(ctx, "select id from advice_run where finished_at is null and failed_at is null").Scan(&run)
		return run, false, err
	}
	if err != nil {
		return 0, false, fmt.Errorf("ask for advice: %w", db.Translate(err))
	}
	return run, true, history.Append(ctx, tx, by, history.Event{SubjectKind: "advice", Kind: "advice asked", Detail: map[string]any{"run": run}})
}

// Act opens a write under a name, which does nothing where the act of that name was
// committed before.
type Act func(ctx context.Context, name string, do func(pgx.Tx, history.By) error) error

// atOnce is how many items are reckoned and kept in one act.
const atOnce = 250

// Do reckons what is left of a run that was asked for, part by part, and with the
// last drops those before it. It may be called again after it failed.
func Do(ctx context.Context, pool *db.Pool, run int64, now time.Time, zone *time.Location, act Act) error {
	left, err := readRun(ctx, pool, run, now, zone)
	if err != nil || !left.open {
		return err
	}
	err = act(ctx, "advice: begin", func(tx pgx.Tx, by history.By) error {
		_, err := tx.Exec(ctx, "update advice_run set total = $2 where id = $1", run, len(left.items))
		return err
	})
	if err != nil {
		return err
	}
	items := slices.DeleteFunc(slices.Clone(left.items), func(k kept) bool { return k.ItemID <= left.behind })
	for part := range slices.Chunk(items, atOnce) {
		advised := reckonAll(part, func(k kept) row { return k.reckon(left.setting, left.leads, Monday(now, zone)) })
		if err := ctx.Err(); err != nil {
			return err
		}
		name := fmt.Sprint("advice: from item ", part[0].ItemID)
		if err := act(ctx, name, func(tx pgx.Tx, by history.By) error { return keepPart(ctx, tx, run, advised) }); err != nil {
			return err
		}
	}
	return act(ctx, "advice: end", func(tx pgx.Tx, by history.By) error { return finish(ctx, tx, by, run) })
}

// atWork is what a run goes by. Items up to behind are kept.
type atWork struct {
	open    bool
	behind  int64
	items   []kept
	leads   map[int64]order.LeadTime
	setting Setting
}

func readRun(ctx context.Context, pool *db.Pool, run int64, now time.Time, zone *time.Location) (w atWork, err error) {
	err = db.Read(ctx, pool, func(tx pgx.Tx) error {
		err := tx.QueryRow(ctx, `select finished_at is null and failed_at is null, (select coalesce(max(item_id), 0) from advice where run_id = r.id)
			from advice_run r where id = $1`, run).Scan(&w.open, &w.behind)
		if errors.Is(err, pgx.ErrNoRows) || err == nil && !w.open {
			return nil
		}
		if err != nil {
			return fmt.Errorf("read a run: %w", err)
		}
		if w.setting, err = GetSetting(ctx, tx); err != nil {
			return err
		}
		if w.leads, err = order.Leads(ctx, tx, zone); err != nil {
			return err
		}
		w.items, err = gather(ctx, tx, now, zone)
		return err
	})
	return w, err
}

// reckonAll works on all cores and keeps the order.
func reckonAll(items []kept, do func(kept) row) []row {
	rows := make([]row, len(items))
	var next sync.Mutex
	var workers sync.WaitGroup
	at := 0
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for {
				next.Lock()
				i := at
				at++
				next.Unlock()
				if i >= len(items) {
					return
				}
				rows[i] = do(items[i])
			}
		})
	}
	workers.Wait()
	return rows
}

// finish lets a run count and drops all others.
func finish(ctx context.Context, tx pgx.Tx, by history.By, run int64) error {
	tag, err := tx.Exec(ctx, "update advice_run set finished_at = $2 where id = $1 and finished_at is null and failed_at is null", run, by.At)
	if err != nil || tag.RowsAffected() == 0 {
		return err
	}
	if _, err := tx.Exec(ctx, "delete from advice where run_id < $1", run); err != nil {
		return fmt.Errorf("drop older advice: %w", err)
	}
	if _, err := tx.Exec(ctx, "delete from advice_run where id < $1", run); err != nil {
		return fmt.Errorf("drop older advice: %w", err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "advice", Kind: "advice reckoned", Detail: map[string]any{"run": run}})
}

// States of what a run made of an item.
const (
	isReckoned = "reckoned"
	isSparse   = "sparse"
	noSource   = "no source"
	outOfRange = "out of range"
)

// reckon never fails: that an item cannot be reckoned is a state of it.
func (k kept) reckon(s Setting, leads map[int64]order.LeadTime, monday time.Time) row {
	w := row{item: k.ItemID, state: isReckoned, class: Classes[k.class]}
	w.Weeks = len(k.weeks)
	if k.SupplierID == 0 {
		w.state = noSource
		return w
	}
	var err error
	w.Reckoned, err = Reckon(k.weeks, k.terms(s, leads))
	switch {
	case errors.As(err, &w.sparse):
		w.state = isSparse
	case err != nil || w.Low < 0 || w.High < w.Low:
		w.state = outOfRange
	case w.Season != nil:
		from := monday.AddDate(0, 0, 7*w.Season.In)
		w.seasonFrom = &from
	}
	return w
}

// row is what is kept of an item.
type row struct {
	item int64
	Reckoned
	state, class string
	sparse       stat.Sparse
	seasonFrom   *time.Time
}

var columns = []string{"run_id", "item_id", "state", "low", "high", "weeks", "empty_weeks", "known_weeks", "need_weeks", "demands", "need_demands",
	"mean", "model", "bar", "off", "bar_off", "lead_days", "lead_variance", "lead_n", "review_days", "class", "service", "demand", "demand_sd",
	"batch", "priced", "capped", "season_from", "season_until", "season_takes"}

func (w row) values(run int64) []any {
	var low, high, until, takes *int64
	if w.state == isReckoned {
		low, high = &w.Low, &w.High
	}
	if w.Season != nil {
		until, takes = &w.Season.Until, &w.Season.Takes
	}
	return []any{run, w.item, w.state, low, high, w.Weeks, w.Empty, w.sparse.Weeks, w.sparse.NeedWeeks, w.sparse.Demands, w.sparse.NeedDemands,
		w.Mean, string(w.Model), string(w.Bar), w.Off, w.BarOff, w.Lead.Days, w.Lead.Variance, w.Lead.N, w.Review, w.class, w.Service, w.Demand, w.DemandSD,
		w.Batch, w.Priced, w.Capped, w.seasonFrom, until, takes}
}

// keepPart writes what was reckoned, and how far the run is. Pages that follow the
// run are told.
func keepPart(ctx context.Context, tx pgx.Tx, run int64, rows []row) error {
	_, err := tx.CopyFrom(ctx, pgx.Identifier{"advice"}, columns, pgx.CopyFromSlice(len(rows), func(i int) ([]any, error) { return rows[i].values(run), nil }))
	if err != nil {
		return fmt.Errorf("keep advice: %w", db.Translate(err))
	}
	if _, err := tx.Exec(ctx, "update advice_run set done = done + $2 where id = $1", run, len(rows)); err != nil {
		return fmt.Errorf("keep advice: %w", err)
	}
	_, err = tx.Exec(ctx, "select pg_notify('live', 'advice:0')")
	return err
}
