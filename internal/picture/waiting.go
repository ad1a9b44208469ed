package picture

import (
	"context"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

const (
	// mostWaiting is how many pictures one form may have.
	mostWaiting = 60
	// waitingLasts is how long one waits whose form was never kept.
	waitingLasts = 30 * 24 * time.Hour
)

// Wait keeps a picture of a unit that is being taken in, under the id that its
// form is kept by. There is no job yet for it to be a picture of.
func Wait(ctx context.Context, tx pgx.Tx, by history.By, f *Folder, draft uuid.UUID, m Made) (id int64, err error) {
	if !by.Has("desk") && !by.Has("owner") {
		return 0, fault.Forbidden("The desk takes units in.")
	}
	if _, err := tx.Exec(ctx, "select pg_advisory_xact_lock_shared("+filesLock+")"); err != nil {
		return 0, db.Translate(err)
	}
	var had int
	if err := tx.QueryRow(ctx, "select count(*) from picture_waiting where draft_id = $1", draft).Scan(&had); err != nil {
		return 0, fmt.Errorf("count waiting pictures: %w", err)
	}
	if had >= mostWaiting {
		return 0, refuse("This form has %d pictures, which is the most.", mostWaiting)
	}
	sha, err := f.keep(m.Full)
	if err != nil {
		return 0, err
	}
	thumb, err := f.keep(m.Thumb)
	if err != nil {
		return 0, err
	}
	err = tx.QueryRow(ctx, `insert into picture_waiting (draft_id, sha, thumb_sha, bytes, width, height, actor_id, at)
		values ($1, $2, $3, $4, $5, $6, $7, $8) returning id`, draft, sha, thumb, len(m.Full), m.Width, m.Height, by.Staff, by.At).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("keep waiting picture: %w", db.Translate(err))
	}
	return id, nil
}

// Receive makes those of these that wait under a form pictures of a job, as it
// came.
func Receive(ctx context.Context, tx pgx.Tx, by history.By, draft uuid.UUID, jobID int64, ids []int64) error {
	if len(ids) == 0 {
		return nil
	}
	e, err := lockJob(ctx, tx, jobID)
	if err != nil {
		return err
	}
	rows, err := tx.Query(ctx, `with came as (delete from picture_waiting where draft_id = $1 and id = any ($2) returning *)
		insert into picture (job_id, sha, thumb_sha, bytes, width, height, actor_id, intent_id, at)
		select $3, sha, thumb_sha, bytes, width, height, actor_id, $4, at from came order by id returning id`, draft, ids, jobID, by.Intent)
	if err != nil {
		return fmt.Errorf("receive pictures: %w", db.Translate(err))
	}
	kept, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	if err != nil {
		return fmt.Errorf("receive pictures: %w", db.Translate(err))
	}
	for _, id := range kept {
		e.Kind, e.Detail = "picture taken", map[string]any{"picture": id}
		if err := history.Append(ctx, tx, by, e); err != nil {
			return err
		}
	}
	return nil
}

// Forget lets go of what still waits under a form; Sweep removes the files.
func Forget(ctx context.Context, tx pgx.Tx, draft uuid.UUID) error {
	if _, err := tx.Exec(ctx, "delete from picture_waiting where draft_id = $1", draft); err != nil {
		return fmt.Errorf("forget waiting pictures: %w", err)
	}
	return nil
}

// forgetOld lets go of what waits under forms that are gone.
func forgetOld(ctx context.Context, tx pgx.Tx, now time.Time) error {
	_, err := tx.Exec(ctx, "delete from picture_waiting w where at < $1 and not exists (select from draft where root = w.draft_id)", now.Add(-waitingLasts))
	if err != nil {
		return fmt.Errorf("forget waiting pictures: %w", err)
	}
	return nil
}

const waitingSQL = `select w.id, 0::bigint as job_id, null::bigint as step_id, w.sha, w.thumb_sha, w.bytes, w.width, w.height, false as shown, a.name as actor, w.at
	from picture_waiting w join staff a on a.id = w.actor_id `

// Waiting lists those of these that wait under a form, oldest first. They are of
// no job yet.
func Waiting(ctx context.Context, q db.Querier, draft uuid.UUID, ids []int64) ([]Picture, error) {
	rows, err := q.Query(ctx, waitingSQL+"where w.draft_id = $1 and w.id = any ($2) order by w.id", draft, ids)
	list, err := db.All[Picture](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read waiting pictures: %w", err)
	}
	return list, nil
}

// GetWaiting reads one that waits.
func GetWaiting(ctx context.Context, q db.Querier, id int64) (Picture, error) {
	rows, err := q.Query(ctx, waitingSQL+"where w.id = $1", id)
	return db.One[Picture](rows, err, "picture")
}
