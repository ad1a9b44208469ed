package work

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"

	"damperdesk/internal/db"
	"damperdesk/internal/erase"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	visits "damperdesk/internal/job"
	"damperdesk/internal/link"
	"damperdesk/internal/picture"
	"damperdesk/internal/shop"
	"damperdesk/internal/staff"
)

// sweep forgets, once a day, expired sign-ins, old views of customers' pages and
// half-filled forms that nobody touched for long, erases customers that were not
// here for as long as the owner said, and removes what was erased, or left by a
// crash, of pictures.
type sweep struct{}

func (sweep) Kind() string { return "sweep" }

type sweeper struct {
	river.WorkerDefaults[sweep]
	pool     *db.Pool
	pictures *picture.Folder
	log      *slog.Logger
}

// erasedAtOnce is how many customers one sweep erases at most, each in an act of
// its own; the next day goes on.
const erasedAtOnce = 40

// Work does all of it, also where a part fails.
func (s *sweeper) Work(ctx context.Context, job *river.Job[sweep]) error {
	signIns := act(ctx, s.pool, job.JobRow, "forget expired sign-ins", func(tx pgx.Tx, by history.By) error {
		return staff.PruneSessions(ctx, tx, by.At)
	})
	views := act(ctx, s.pool, job.JobRow, "forget old views", func(tx pgx.Tx, by history.By) error {
		_, err := link.SweepViews(ctx, tx, by.At)
		return err
	})
	drafts := act(ctx, s.pool, job.JobRow, "forget old drafts", func(tx pgx.Tx, by history.By) error {
		return visits.ForgetDrafts(ctx, tx, by.At)
	})
	aged := s.erase(ctx, job)
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
	return errors.Join(signIns, views, drafts, aged, pictures)
}

// erase takes out whoever was not here for as long as the owner said, those longest
// away first. Who comes in meanwhile stays.
func (s *sweeper) erase(ctx context.Context, job *river.Job[sweep]) error {
	settings, err := shop.Get(ctx, s.pool)
	if errors.As(err, new(fault.NotFound)) || err == nil && settings.EraseAfterYears == nil {
		return nil
	}
	if err != nil {
		return err
	}
	now := time.Now().UTC()
	before := erase.Since(now, *settings.EraseAfterYears)
	list, err := erase.NotHereSince(ctx, s.pool, before, now)
	if err != nil {
		return err
	}
	erased := 0
	for _, c := range list[:min(len(list), erasedAtOnce)] {
		one := act(ctx, s.pool, job.JobRow, fmt.Sprintf("erase customer %d", c.ID), func(tx pgx.Tx, by history.By) error {
			return erase.Aged(ctx, tx, by, c.ID, before)
		})
		if errors.As(one, new(fault.Conflict)) {
			continue
		}
		if err = errors.Join(err, one); one == nil {
			erased++
		}
	}
	if erased > 0 {
		s.log.InfoContext(ctx, "customers not here for long were erased", "customers", erased)
	}
	return err
}
