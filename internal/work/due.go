package work

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"

	"damperdesk/internal/db"
	"damperdesk/internal/due"
	"damperdesk/internal/history"
)

// scanDue reckons once a day which unit comes due for which service, of all.
type scanDue struct{}

func (scanDue) Kind() string { return "due-scan" }

type dueScanner struct {
	river.WorkerDefaults[scanDue]
	pool *db.Pool
}

// Timeout is for hundreds of thousands of units on a slow disk.
func (*dueScanner) Timeout(*river.Job[scanDue]) time.Duration { return 10 * time.Minute }

// Work goes on where another try was cut off, also past midnight: the day is
// that of the job.
func (s *dueScanner) Work(ctx context.Context, job *river.Job[scanDue]) error {
	return due.Scan(ctx, s.pool, job.CreatedAt, dueAct(s.pool, job.JobRow))
}

// drainDue reckons every minute what acts have touched and left.
type drainDue struct{}

func (drainDue) Kind() string { return "due-drain" }

type dueDrainer struct {
	river.WorkerDefaults[drainDue]
	pool *db.Pool
}

func (*dueDrainer) Timeout(*river.Job[drainDue]) time.Duration { return 10 * time.Minute }

func (d *dueDrainer) Work(ctx context.Context, job *river.Job[drainDue]) error {
	return due.Drain(ctx, d.pool, time.Now().UTC(), dueAct(d.pool, job.JobRow))
}

func dueAct(pool *db.Pool, job *rivertype.JobRow) due.Act {
	return func(ctx context.Context, name string, do func(pgx.Tx, history.By) error) error {
		return act(ctx, pool, job, name, do)
	}
}
