package work

import (
	"context"

	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// still tells customers once a day that what is ready is still here.
type still struct{}

func (still) Kind() string { return "still-here" }

type reminder struct {
	river.WorkerDefaults[still]
	pool *db.Pool
}

// Work does it in one act: a shop has few that are ready for so long.
func (r *reminder) Work(ctx context.Context, j *river.Job[still]) error {
	return act(ctx, r.pool, j.JobRow, "tell what is still here", func(tx pgx.Tx, by history.By) error {
		_, err := job.TellStillHere(ctx, tx, by)
		return err
	})
}
