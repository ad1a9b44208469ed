// Package work does what nobody waits for: jobs that River keeps in the
// database, each done by one of the servers, and again where it failed or its
// server was killed.
package work

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivertype"

	"damperdesk/internal/db"
	"damperdesk/internal/picture"
)

const (
	atOnce = 2 // jobs of one server; a shop's computer serves pages too
	tries  = 8 // with the pauses between them about 80 minutes
	// longest is how long a try may take. A worker that needs more says so by
	// a method Timeout.
	longest = time.Minute
	// lost is how long after its start a job that runs nowhere is taken up
	// again, or the worker's own Timeout where that is longer.
	lost = 2 * time.Minute
	// mercy is how long jobs get to end by themselves when the server stops.
	// Then their contexts end, and the next server has them again.
	mercy = 3 * time.Second
	// look is how often a server asks for jobs that it was not told of.
	look = 5 * time.Second
)

// Crew is the share of this server in the work.
type Crew struct{ client *river.Client[pgx.Tx] }

// Start begins to work. Several servers may, on one database: one of them
// leads, hands out what comes by the clock and takes up what a killed one left.
func Start(ctx context.Context, pool *db.Pool, pictures *picture.Folder, post Post, log *slog.Logger) (*Crew, error) {
	workers := river.NewWorkers()
	river.AddWorker(workers, &sweeper{pool: pool, pictures: pictures, log: log})
	river.AddWorker(workers, &adviser{pool: pool})
	river.AddWorker(workers, &dueScanner{pool: pool})
	river.AddWorker(workers, &dueDrainer{pool: pool})
	river.AddWorker(workers, &reminder{pool: pool})
	river.AddWorker(workers, &mailer{pool: pool, post: post, log: log})
	settings := settings(workers, log)
	settings.PeriodicJobs = []*river.PeriodicJob{daily(sweep{}), daily(Advise{}), daily(scanDue{}), each(time.Minute, drainDue{}), daily(still{}), regularly(Mail{})}
	return start(ctx, pool, settings, Mail{})
}

func settings(workers *river.Workers, log *slog.Logger) *river.Config {
	return &river.Config{
		Schema:               db.WorkSchema,
		Queues:               map[string]river.QueueConfig{river.QueueDefault: {MaxWorkers: atOnce}, mailQueue: {MaxWorkers: 1}},
		Workers:              workers,
		MaxAttempts:          tries,
		JobTimeout:           longest,
		RescueStuckJobsAfter: lost,
		SoftStopTimeout:      mercy,
		FetchPollInterval:    look,
		ReindexerIndexNames:  []string{}, // only the owner of an index may make it anew
		ErrorHandler:         failures{log},
		Logger:               slog.New(warnings{log.Handler()}),
	}
}

// start begins with the jobs first, which are there before it looks: what a
// killed server left is gone on with before anybody leads.
func start(ctx context.Context, pool *db.Pool, s *river.Config, first ...river.JobArgs) (*Crew, error) {
	client, err := river.NewClient(riverpgxv5.New(pool), s)
	for _, job := range first {
		if err == nil {
			_, err = client.Insert(ctx, job, nil)
		}
	}
	if err == nil {
		err = client.Start(ctx)
	}
	if err != nil {
		return nil, fmt.Errorf("start background work: %w", err)
	}
	return &Crew{client}, nil
}

// Stop begins nothing more and returns when what runs has ended, or ctx has.
// What had to be cut off is done by the next server.
func (c *Crew) Stop(ctx context.Context) error {
	if err := c.client.Stop(ctx); err != nil {
		return fmt.Errorf("stop background work: %w", err)
	}
	return nil
}

// Add hands a job over in the transaction of what asks for it: it is done if
// that is committed, and not otherwise.
func (c *Crew) Add(ctx context.Context, tx pgx.Tx, job river.JobArgs) error {
	if _, err := c.client.InsertTx(ctx, tx, job, nil); err != nil {
		return fmt.Errorf("hand over background work: %w", err)
	}
	return nil
}

// daily is a job for once a day, soon after the first server of that day
// starts. The job is known by its kind and the day in UTC, see each.
func daily(job river.JobArgs) *river.PeriodicJob { return each(day, job) }

// each is a job for once in every such time, from the start of the first server on.
func each(period time.Duration, job river.JobArgs) *river.PeriodicJob {
	// A leader's job falls away where another leader has brought the same one in
	// that time, unless that was given up.
	once := river.InsertOpts{UniqueOpts: river.UniqueOpts{ByPeriod: period}}
	return river.NewPeriodicJob(river.PeriodicInterval(period),
		func() (river.JobArgs, *river.InsertOpts) { return job, &once },
		&river.PeriodicJobOpts{RunOnStart: true})
}

const day = 24 * time.Hour

// failures tells of each try that failed; River tries again by itself.
type failures struct{ log *slog.Logger }

func (f failures) HandleError(ctx context.Context, job *rivertype.JobRow, err error) *river.ErrorHandlerResult {
	f.log.WarnContext(ctx, "background work failed", "kind", job.Kind, "job", job.ID, "try", job.Attempt, "of", job.MaxAttempts, "error", err)
	return nil
}

func (f failures) HandlePanic(ctx context.Context, job *rivertype.JobRow, value any, trace string) *river.ErrorHandlerResult {
	f.log.ErrorContext(ctx, "background work ended in a panic", "kind", job.Kind, "job", job.ID, "try", job.Attempt, "of", job.MaxAttempts, "panic", value, "trace", trace)
	return nil
}

// warnings is a log for River, which says a great deal of every day.
type warnings struct{ slog.Handler }

func (h warnings) Enabled(ctx context.Context, l slog.Level) bool {
	return l >= slog.LevelWarn && h.Handler.Enabled(ctx, l)
}
