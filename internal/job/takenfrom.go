package job

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
)

// TakenIn is the visit that a half-filled form has become.
type TakenIn struct {
	VisitID int64
	Number  int // its first ticket
	By      string
	At      time.Time
}

// TakenFrom is the last visit that was taken in from the forms of a root; it is
// not found where none was.
func TakenFrom(ctx context.Context, q db.Querier, root uuid.UUID) (TakenIn, error) {
	rows, err := q.Query(ctx, `select v.id as visit_id, j.number, coalesce(s.name, '') as by, v.opened_at as at
		from visit v join job j on j.visit_id = v.id join stage_change c on c.job_id = j.id left join staff s on s.id = c.actor_id
		where v.draft_root = $1 order by v.id desc, j.number, c.seq limit 1`, root)
	t, err := db.One[TakenIn](rows, err, "visit from that form")
	if err != nil {
		return t, fmt.Errorf("read what a form became: %w", err)
	}
	return t, nil
}

// checkDraft asks whether another visit is meant where a form that two desks had
// open was taken in already. Of two who take it in at once the second waits.
func checkDraft(ctx context.Context, tx pgx.Tx, d DropOff, f faults) error {
	if d.Draft == uuid.Nil {
		return nil
	}
	if _, err := tx.Exec(ctx, "select pg_advisory_xact_lock(hashtextextended($1, 0))", "draft "+d.Draft.String()); err != nil {
		return db.Translate(err)
	}
	t, err := TakenFrom(ctx, tx, d.Draft)
	if errors.As(err, new(fault.NotFound)) {
		return nil
	}
	f.add("another", err == nil && !d.Another, fmt.Sprintf("%s took it in as %d. Tick that it is another one, or open that ticket.", t.By, t.Number))
	return err
}
