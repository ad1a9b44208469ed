package job

import (
	"context"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
)

// Draft is a drop-off that somebody has begun. It is no act: it may be lost,
// and nothing is told from it. So it is kept without an intent and an event.
type Draft struct {
	ID      uuid.UUID
	About   string    // whose it is
	Fields  string    // the form, as a query string
	ActID   uuid.UUID `db:"-"` // of the form: once that is done there is nothing to keep
	StaffID int64
	By      string `db:"by"`
	KeptAt  time.Time
}

const (
	draftsShown = 20
	draftsLast  = 30 * 24 * time.Hour
	mostFields  = 200_000 // characters
)

// KeepDraft keeps the form as it stands, in place of what was kept of it, and
// forgets what nobody has touched for thirty days.
func KeepDraft(ctx context.Context, tx pgx.Tx, d Draft) error {
	if len(d.Fields) > mostFields {
		return fault.Conflict("That is more than can be kept of a half-filled form.")
	}
	if _, err := tx.Exec(ctx, "delete from draft where kept_at < $1", d.KeptAt.Add(-draftsLast)); err != nil {
		return fmt.Errorf("forget drafts: %w", err)
	}
	_, err := tx.Exec(ctx, `insert into draft (id, about, fields, staff_id, begun_at, kept_at) select $1, $2, $3, $4, $5, $5
		where not exists (select from intent where id = $6)
		on conflict (id) do update set about = excluded.about, fields = excluded.fields, staff_id = excluded.staff_id, kept_at = excluded.kept_at`,
		d.ID, d.About, d.Fields, d.StaffID, d.KeptAt, d.ActID)
	if err != nil {
		return fmt.Errorf("keep draft: %w", db.Translate(err))
	}
	return nil
}

// EndDraft takes it away: it was taken in, or thrown away.
func EndDraft(ctx context.Context, tx pgx.Tx, id uuid.UUID) error {
	if _, err := tx.Exec(ctx, "delete from draft where id = $1", id); err != nil {
		return fmt.Errorf("end draft: %w", err)
	}
	return nil
}

const draftSQL = `select d.id, d.about, d.fields, d.staff_id, s.name as by, d.kept_at from draft d join staff s on s.id = d.staff_id`

// Drafts are those of everybody, the newest first, without what is in them.
func Drafts(ctx context.Context, q db.Querier) ([]Draft, error) {
	rows, err := q.Query(ctx, `select d.id, d.about, '' as fields, d.staff_id, s.name as by, d.kept_at
		from draft d join staff s on s.id = d.staff_id order by d.kept_at desc limit $1`, draftsShown)
	list, err := db.All[Draft](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read drafts: %w", err)
	}
	return list, nil
}

// GetDraft reads one with what is in it.
func GetDraft(ctx context.Context, q db.Querier, id uuid.UUID) (Draft, error) {
	rows, err := q.Query(ctx, draftSQL+" where d.id = $1", id)
	d, err := db.One[Draft](rows, err, "draft")
	if err != nil {
		return d, fmt.Errorf("read draft: %w", err)
	}
	return d, nil
}
