package work

import (
	"context"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/due"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
)

// stuckScanner comes no further inside the fourth act of the scan, or after it.
type stuckScanner struct {
	river.WorkerDefaults[scanDue]
	pool          *db.Pool
	inside, after func(context.Context) error
}

func (s *stuckScanner) Work(ctx context.Context, job *river.Job[scanDue]) error {
	n, act := 0, dueAct(s.pool, job.JobRow)
	return due.Scan(ctx, s.pool, job.CreatedAt, func(ctx context.Context, name string, do func(pgx.Tx, history.By) error) error {
		n++
		err := act(ctx, name, func(tx pgx.Tx, by history.By) error {
			if err := do(tx, by); err != nil || n < 4 || s.inside == nil {
				return err
			}
			return s.inside(ctx)
		})
		if err != nil || n < 4 || s.after == nil {
			return err
		}
		return s.after(ctx)
	})
}

// forks is a shop with so many forks, of which each was said how it is ridden and
// that it was washed too hard.
func forks(t *testing.T, pool *db.Pool, n int) {
	t.Helper()
	ctx := t.Context()
	err := db.Write(ctx, pool, func(tx pgx.Tx) error {
		by := dbtest.By(t, tx, "owner", "desk")
		if err := procedure.Install(ctx, tx, by); err != nil {
			return err
		}
		if err := interval.Install(ctx, tx, by); err != nil {
			return err
		}
		if err := shop.Save(ctx, tx, by, shop.Settings{Name: "Weir Lane Cycles", Zone: "Europe/London", Currency: "GBP", Hemisphere: "north",
			TorqueUnit: "N·m", VolumeUnit: "mL", PressureUnit: "psi", MassUnit: "kg"}); err != nil {
			return err
		}
		rider, err := customer.Add(ctx, tx, by, customer.Details{Name: "Odette Marsh", Phone: "07700 900118"})
		if err != nil {
			return err
		}
		first, err := customer.AddUnit(ctx, tx, by, rider, customer.UnitDetails{Kind: "fork", ModelWords: "The first"})
		if err != nil {
			return err
		}
		if err := interval.Happen(ctx, tx, by, first, interval.Happened{Kind: interval.Crash}, interval.AtDesk, interval.Day(by.At, time.UTC)); err != nil {
			return err
		}
		for _, sql := range []string{
			"insert into unit (kind, customer_id, model_words) select 'fork', u.customer_id, 'Fork ' || n from unit u, generate_series(2, $1::int) n where $2::uuid is not null and $3::timestamptz is not null",
			"insert into hour_reading (unit_id, kind, rides_a_week, hours_a_ride, source, intent_id, at) select id, 'habit', id % 4, 1.5, 'rider', $2, $3 from unit where $1::int > 0",
			"insert into unit_event (unit_id, kind, on_day, how, intent_id, at) select id, case id % 2 when 0 then 'jet wash' else 'new' end, '2026-10-01', 'desk', $2, $3 from unit where $1::int > 0",
			"delete from due_stale where $1::int > 0 and $2::uuid is not null and $3::timestamptz is not null",
		} {
			if _, err := tx.Exec(ctx, sql, n, by.Intent, by.At); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// dueTable is all rows of what is due, but the day they were reckoned on.
func dueTable(t *testing.T, pool *db.Pool) []string {
	t.Helper()
	rows, _ := pool.Query(t.Context(), "select (to_jsonb(d) - 'reckoned_on')::text from due d order by unit_id, service_code")
	list, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// scanned waits until the scan of a day has ended, and says how many units it
// reckoned.
func scanned(t *testing.T, pool *db.Pool) (units int) {
	t.Helper()
	for end := time.Now().Add(30 * time.Second); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		var ended bool
		err := pool.QueryRow(t.Context(), "select coalesce(sum(units), 0), coalesce(bool_and(finished_at is not null), false) from due_scan").Scan(&units, &ended)
		if err != nil {
			t.Fatal(err)
		}
		if ended {
			return units
		}
	}
	t.Fatal("the scan does not end")
	return 0
}

// A server that is killed in the scan of the night leaves it to another, which
// goes on where the first one was: each unit is reckoned once, and the table is
// what one scan without a break makes of it.
func TestAScanThatWasKilledIsGoneOnWith(t *testing.T) {
	t.Parallel()
	for _, where := range []string{"inside", "after"} {
		t.Run(where+" its act", func(t *testing.T) {
			t.Parallel()
			const units = 2100
			url := dbtest.URL(t)
			pool, err := db.Open(t.Context(), url)
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(pool.Close)
			forks(t, pool, units)
			handing, err := river.NewClient(riverpgxv5.New(pool), &river.Config{Schema: db.WorkSchema})
			if err != nil {
				t.Fatal(err)
			}
			err = db.Write(t.Context(), pool, func(tx pgx.Tx) error {
				_, err := handing.InsertTx(t.Context(), tx, scanDue{}, &river.InsertOpts{UniqueOpts: river.UniqueOpts{ByPeriod: day}})
				return err
			})
			if err != nil {
				t.Fatal(err)
			}
			killed(t, "scan "+where, url)
			if n := len(dueTable(t, pool)); n == 0 || n >= units {
				t.Fatalf("%d rows at the kill", n)
			}
			for _, sql := range []string{"update river.river_job set attempted_at = attempted_at - interval '1 hour'", "update river.river_leader set expires_at = now() - interval '1 second'"} {
				if _, err := pool.Exec(t.Context(), sql); err != nil {
					t.Fatal(err)
				}
			}
			crew := begin(t, pool, leftOver(t, 0), quiet)
			if n := scanned(t, pool); n != units {
				t.Errorf("%d units were reckoned, want %d", n, units)
			}
			stop(t, crew)
			got := dueTable(t, pool)
			for _, sql := range []string{"delete from due", "delete from due_scan"} {
				if _, err := pool.Exec(t.Context(), sql); err != nil {
					t.Fatal(err)
				}
			}
			straight := func(ctx context.Context, _ string, do func(pgx.Tx, history.By) error) error {
				return db.Write(ctx, pool, func(tx pgx.Tx) error { return do(tx, history.By{At: time.Now(), Intent: uuid.New()}) })
			}
			if err := due.Scan(t.Context(), pool, time.Now(), straight); err != nil {
				t.Fatal(err)
			}
			if want := dueTable(t, pool); len(got) < units || !slices.Equal(got, want) {
				t.Errorf("%d rows after the kill, %d of one scan; are they equal: %v", len(got), len(want), slices.Equal(got, want))
			}
		})
	}
}

// More units than an act settles itself are reckoned within a minute.
func TestWhatAnActLeavesIsReckonedInTheBackground(t *testing.T) {
	t.Parallel()
	pool := dbtest.Clone(t)
	forks(t, pool, 120)
	begin(t, pool, leftOver(t, 0), quiet)
	scanned(t, pool)
	before := dueTable(t, pool)
	err := db.Write(t.Context(), pool, func(tx pgx.Tx) error {
		by := dbtest.By(t, tx, "owner")
		rules, err := interval.ReadEventRules(t.Context(), tx)
		if err != nil {
			return err
		}
		r := rules[slices.IndexFunc(rules, func(r interval.EventRule) bool { return r.Kind == interval.JetWash })]
		r.Days, r.Months = nil, 3
		if err := interval.SetEvent(t.Context(), tx, by, r); err != nil {
			return err
		}
		return due.Settle(t.Context(), tx, by.At)
	})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(before, dueTable(t, pool)) {
		t.Error("the act reckoned more than fifty units itself")
	}
	act := func(ctx context.Context, _ string, do func(pgx.Tx, history.By) error) error {
		return db.Write(ctx, pool, func(tx pgx.Tx) error { return do(tx, history.By{At: time.Now(), Intent: uuid.New()}) })
	}
	if err := due.Drain(t.Context(), pool, time.Now(), act); err != nil {
		t.Fatal(err)
	}
	if slices.Equal(before, dueTable(t, pool)) {
		t.Error("the rule changed and the table did not")
	}
	var left int
	if err := pool.QueryRow(t.Context(), "select count(*) from due_stale").Scan(&left); err != nil || left > 0 {
		t.Errorf("%d marks are left, %v", left, err)
	}
}
