package work

import (
	"context"
	"errors"
	"log/slog"

	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/link"
	"damperdesk/internal/picture"
	"damperdesk/internal/staff"
)

// sweep forgets, once a day, expired sign-ins and old views of customers' pages,
// and removes what a crash has left of pictures.
type sweep struct{}

func (sweep) Kind() string { return "sweep" }

type sweeper struct {
	river.WorkerDefaults[sweep]
	pool     *db.Pool
	pictures *picture.Folder
	log      *slog.Logger
}

// Work does all of it, also where one of them fails.
func (s *sweeper) Work(ctx context.Context, job *river.Job[sweep]) error {
	signIns := act(ctx, s.pool, job.JobRow, "forget expired sign-ins", func(tx pgx.Tx, by history.By) error {
		return staff.PruneSessions(ctx, tx, by.At)
	})
	views := act(ctx, s.pool, job.JobRow, "forget old views", func(tx pgx.Tx, by history.By) error {
		_, err := link.SweepViews(ctx, tx, by.At)
		return err
	})
	removed := 0
	pictures := act(ctx, s.pool, job.JobRow, "sweep pictures", func(tx pgx.Tx, by history.By) (err error) {
		removed, err = picture.Sweep(ctx, tx, s.pictures, by.At)
		return err
	})
	if removed > 0 {
		s.log.InfoContext(ctx, "files of pictures without a row were removed", "files", removed)
	}
	if errors.Is(pictures, picture.ErrManyOrphans) { // for somebody to look at; another try finds the same
		s.log.WarnContext(ctx, "files of pictures without a row stay", "error", pictures)
		pictures = nil
	}
	return errors.Join(signIns, views, pictures)
}
