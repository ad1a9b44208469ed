package work

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"

	"damperdesk/internal/advice"
	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/shop"
)

// Advise reckons what to order of every item, in a run that somebody asked for, or
// once a day in one of its own.
type Advise struct{ Run int64 }

// Kind is what River knows it by.
func (Advise) Kind() string { return "advise" }

type adviser struct {
	river.WorkerDefaults[Advise]
	pool *db.Pool
}

// Timeout is for a ledger of millions of moves on a slow disk.
func (*adviser) Timeout(*river.Job[Advise]) time.Duration { return 5 * time.Minute }

// Work goes on with the run where another try was cut off.
func (a *adviser) Work(ctx context.Context, job *river.Job[Advise]) error {
	run := job.Args.Run
	if run == 0 {
		err := act(ctx, a.pool, job.JobRow, "advice: ask", func(tx pgx.Tx, by history.By) error {
			_, _, err := advice.Ask(ctx, tx, by)
			return err
		})
		if err != nil {
			return err
		}
		newest, _, err := advice.Last(ctx, a.pool)
		if err != nil || !newest.Open() {
			return err
		}
		run = newest.ID
	}
	s, err := shop.Get(ctx, a.pool)
	if err != nil {
		return err
	}
	return advice.Do(ctx, a.pool, run, time.Now().UTC(), s.Location(), func(ctx context.Context, name string, do func(pgx.Tx, history.By) error) error {
		return act(ctx, a.pool, job.JobRow, name, do)
	})
}
