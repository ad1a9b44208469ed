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
	// Version counts how often it was kept, and Hand is the opening of the form
	// that did so last. A form says at which version it was opened.
	Version int
	Hand    uuid.UUID
	ApartOf *uuid.UUID // the one it was kept apart from; nil: none
	Root    uuid.UUID  `db:"-"` // what its pictures wait under, see DraftRoot
}

// follows says whether keeping d takes nobody's words away: the form was opened
// at what stands, or has kept it itself.
func (d Draft) follows(stands Draft) bool {
	return d.Hand == stands.Hand || d.Version == stands.Version
}

// apart is d under an id of its own, the same one each time it is kept.
func (d Draft) apart(from Draft) Draft {
	of := d.ID
	d.ID, d.ApartOf, d.Root = uuid.NewSHA1(of, d.Hand[:]), &of, from.Root
	return d
}

const (
	draftsShown = 20
	draftsLast  = 30 * 24 * time.Hour
	mostFields  = 200_000 // characters
)

// KeepDraft keeps the form as it stands, in place of what was kept of it, and
// forgets what nobody has touched for thirty days. Where somebody else kept it
// since the form was opened both stay, and the form is kept apart: it says under
// which id.
func KeepDraft(ctx context.Context, tx pgx.Tx, d Draft) (uuid.UUID, error) {
	if len(d.Fields) > mostFields {
		return d.ID, fault.Conflict("That is more than can be kept of a half-filled form.")
	}
	if err := ForgetDrafts(ctx, tx, d.KeptAt); err != nil {
		return d.ID, err
	}
	stands, err := heldDraft(ctx, tx, d.ID)
	if err != nil {
		return d.ID, fmt.Errorf("keep draft: %w", err)
	}
	d.Root = d.ID
	if stands != nil && !d.follows(*stands) {
		d = d.apart(*stands)
	}
	_, err = tx.Exec(ctx, `insert into draft (id, about, fields, staff_id, begun_at, kept_at, hand, apart_of, root) select $1, $2, $3, $4, $5, $5, $7, $8, $9
		where not exists (select from intent where id = $6)
		on conflict (id) do update set about = excluded.about, fields = excluded.fields, staff_id = excluded.staff_id, kept_at = excluded.kept_at,
			hand = excluded.hand, version = draft.version + 1`,
		d.ID, d.About, d.Fields, d.StaffID, d.KeptAt, d.ActID, d.Hand, d.ApartOf, d.Root)
	if err != nil {
		return d.ID, fmt.Errorf("keep draft: %w", db.Translate(err))
	}
	return d.ID, nil
}

// heldDraft is how far a draft was kept, its row held; nil where there is none.
func heldDraft(ctx context.Context, tx pgx.Tx, id uuid.UUID) (*Draft, error) {
	var d Draft
	err := tx.QueryRow(ctx, "select version, hand, root from draft where id = $1 for update", id).Scan(&d.Version, &d.Hand, &d.Root)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, nil
	}
	return &d, db.Translate(err)
}

// EndDraft takes away what was taken in. What somebody else kept of it since the
// form was opened stays.
func EndDraft(ctx context.Context, tx pgx.Tx, d Draft) error {
	if _, err := tx.Exec(ctx, "delete from draft where id = $1 and (hand = $2 or version = $3)", d.ID, d.Hand, d.Version); err != nil {
		return fmt.Errorf("end draft: %w", err)
	}
	return nil
}

// ThrowDraft takes a draft away for good, as it was when somebody chose to.
func ThrowDraft(ctx context.Context, tx pgx.Tx, id uuid.UUID, version int) error {
	stands, err := heldDraft(ctx, tx, id)
	switch {
	case err != nil:
		return fmt.Errorf("throw draft away: %w", err)
	case stands != nil && stands.Version != version:
		return fault.Conflict("Somebody typed more into it meanwhile: look at it before it goes.")
	}
	if _, err := tx.Exec(ctx, "delete from draft where id = $1", id); err != nil {
		return fmt.Errorf("throw draft away: %w", err)
	}
	return nil
}

// DraftRoot is the id that the pictures of a draft wait under: its own, or that
// of the first one that it goes back to through those it was kept apart from.
func DraftRoot(ctx context.Context, q db.Querier, id uuid.UUID) (root uuid.UUID, err error) {
	if err = q.QueryRow(ctx, "select coalesce((select root from draft where id = $1), $1)", id).Scan(&root); err != nil {
		return id, fmt.Errorf("read draft: %w", err)
	}
	return root, nil
}

// AnyDraftOf says whether a draft has that root.
func AnyDraftOf(ctx context.Context, q db.Querier, root uuid.UUID) (some bool, err error) {
	if err = q.QueryRow(ctx, "select exists (select from draft where root = $1)", root).Scan(&some); err != nil {
		return false, fmt.Errorf("look for drafts: %w", err)
	}
	return some, nil
}

const draftSQL = `select d.id, d.about, d.fields, d.staff_id, s.name as by, d.kept_at, d.version, d.hand, d.apart_of from draft d join staff s on s.id = d.staff_id`

// Drafts are those of everybody, the newest first, without what is in them.
func Drafts(ctx context.Context, q db.Querier) ([]Draft, error) {
	rows, err := q.Query(ctx, `select d.id, d.about, '' as fields, d.staff_id, s.name as by, d.kept_at, d.version, d.hand, d.apart_of
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

// GoneOnWith is the draft that somebody else kept last apart from that one; it is
// not found where nobody did.
func GoneOnWith(ctx context.Context, q db.Querier, id uuid.UUID) (Draft, error) {
	rows, err := q.Query(ctx, draftSQL+" where d.apart_of = $1 order by d.kept_at desc limit 1", id)
	d, err := db.One[Draft](rows, err, "draft")
	if err != nil {
		return d, fmt.Errorf("read draft: %w", err)
	}
	return d, nil
}
