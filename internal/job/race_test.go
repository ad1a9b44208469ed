package job_test

import (
	"errors"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// committed is a desk whose customer and forks are in a database of their own.
func committed(t *testing.T, forks int) (*pgxpool.Pool, desk, []int64) {
	t.Helper()
	pool := dbtest.Clone(t)
	var d desk
	var units []int64
	write(t, pool, func(tx pgx.Tx) error {
		d = newDesk(t, tx)
		units = []int64{d.fork}
		for range forks - 1 {
			units = append(units, d.addFork("Tindra Kelp"))
		}
		return nil
	})
	return pool, d, units
}

func write(t *testing.T, pool *pgxpool.Pool, fn func(pgx.Tx) error) {
	t.Helper()
	if err := db.Write(ctx, pool, fn); err != nil {
		t.Fatal(err)
	}
}

// atOnce runs an act n times, each under an intent of its own, in transactions
// that are all open before the first one acts.
func atOnce(t *testing.T, pool *pgxpool.Pool, by history.By, n int, act func(i int, tx pgx.Tx, by history.By) error) []error {
	t.Helper()
	acts := make([]history.By, n)
	write(t, pool, func(tx pgx.Tx) error {
		for i := range acts {
			acts[i] = dbtest.Act(t, tx, by)
		}
		return nil
	})
	errs := make([]error, n)
	var all, open sync.WaitGroup
	open.Add(n)
	for i := range n {
		arrived := sync.OnceFunc(open.Done)
		all.Go(func() {
			errs[i] = db.Write(ctx, pool, func(tx pgx.Tx) error {
				arrived()
				open.Wait()
				return act(i, tx, acts[i])
			})
			arrived()
		})
	}
	all.Wait()
	return errs
}

func TestTwoDesksTakeTheNextNumber(t *testing.T) {
	pool, d, units := committed(t, 8)
	errs := atOnce(t, pool, d.by, len(units), func(i int, tx pgx.Tx, by history.By) error {
		_, err := job.TakeIn(ctx, tx, by, d.dropOff(units[i]))
		return err
	})
	if err := errors.Join(errs...); err != nil {
		t.Fatal(err)
	}
	rows, err := job.Board(ctx, pool, job.BoardFilter{})
	if err != nil || len(rows) != len(units) {
		t.Fatalf("%d jobs, %v; want %d", len(rows), err, len(units))
	}
	seen := map[int]bool{}
	for _, r := range rows {
		if seen[r.Number] {
			t.Errorf("ticket %d was given twice", r.Number)
		}
		seen[r.Number] = true
	}
}

func TestOneOpenJobPerUnit(t *testing.T) {
	pool, d, units := committed(t, 1)
	errs := atOnce(t, pool, d.by, 4, func(_ int, tx pgx.Tx, by history.By) error {
		_, err := job.TakeIn(ctx, tx, by, d.dropOff(units[0]))
		return err
	})
	wantOne(t, errs, func(err error) bool { return isInvalid(err, "unit0.unit") })
}

func TestUnitsOfTwoVisitsInOppositeOrderDoNotBlockEachOther(t *testing.T) {
	pool, d, units := committed(t, 2)
	errs := atOnce(t, pool, d.by, 2, func(i int, tx pgx.Tx, by history.By) error {
		_, err := job.TakeIn(ctx, tx, by, d.dropOff(units[i], units[1-i]))
		return err
	})
	wantOne(t, errs, func(err error) bool { return isInvalid(err, "unit0.unit") && isInvalid(err, "unit1.unit") })
}

func TestTwoPeopleMoveOneJob(t *testing.T) {
	pool, d, units := committed(t, 1)
	var id int64
	write(t, pool, func(tx pgx.Tx) error {
		visit, err := job.TakeIn(ctx, tx, dbtest.Act(t, tx, d.by), d.dropOff(units[0]))
		if err != nil {
			return err
		}
		v, err := job.Visit(ctx, tx, visit)
		id = v.Jobs[0].ID
		return err
	})
	errs := atOnce(t, pool, d.by, 4, func(_ int, tx pgx.Tx, by history.By) error {
		return job.MoveByHand(ctx, tx, by, id, job.InQueue)
	})
	wantOne(t, errs, isConflict)
	errs = atOnce(t, pool, d.by, 4, func(_ int, tx pgx.Tx, by history.By) error {
		return job.Hold(ctx, tx, by, id, job.WaitingOnCustomer, "", nil)
	})
	wantOne(t, errs, isConflict)
}

func wantOne(t *testing.T, errs []error, refused func(error) bool) {
	t.Helper()
	done := 0
	for _, err := range errs {
		switch {
		case err == nil:
			done++
		case !refused(err):
			sentence, forPeople := fault.Sentence(err)
			t.Errorf("a loser reads %q (for people: %v), want the refusal", sentence, forPeople)
		}
	}
	if done != 1 {
		t.Errorf("%d of %d were done, want one: %v", done, len(errs), errs)
	}
}
