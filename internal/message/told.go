package message

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
)

// Note is a message of a visit as the desk looks back on it.
type Note struct {
	ID        int64
	Kind      Kind
	State     State
	Why       Why
	At        time.Time // when it was caused
	NotBefore time.Time
	SentAt    *time.Time
	ToldAt    *time.Time // by voice
	ToldBy    string
}

// Heard reports whether the customer was told, by mail or by voice.
func (n Note) Heard() bool { return n.SentAt != nil || n.ToldAt != nil }

// Notes are those of some visits, by visit, the newest first.
func Notes(ctx context.Context, q db.Querier, visitIDs ...int64) (map[int64][]Note, error) {
	type row struct {
		VisitID int64
		Note
	}
	rows, err := q.Query(ctx, `select m.visit_id, m.id, m.kind, m.state, m.why, m.at, m.not_before, m.sent_at, m.told_at, coalesce(s.name, '') as told_by
		from message m left join staff s on s.id = m.told_by where m.visit_id = any ($1) order by m.id desc`, visitIDs)
	list, err := db.All[row](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read messages of visit: %w", err)
	}
	by := map[int64][]Note{}
	for _, r := range list {
		by[r.VisitID] = append(by[r.VisitID], r.Note)
	}
	return by, nil
}

// TellUncaused keeps that the customer of a visit was told by voice what nothing
// has caused a message for.
func TellUncaused(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, kind Kind) error {
	if err := deskOnly(by); err != nil {
		return err
	}
	id, err := postTold(ctx, tx, by, visitID, kind)
	if err != nil {
		return err
	}
	return Tell(ctx, tx, by, id)
}

// TellOf is Tell of a message of a kind about a visit.
func TellOf(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, kind Kind, id int64) error {
	notes, err := Notes(ctx, tx, visitID)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(notes[visitID], func(n Note) bool { return n.ID == id && n.Kind == kind }) {
		return errMoved
	}
	return Tell(ctx, tx, by, id)
}

// TellNewest is Tell of the newest message of a kind about a visit, where one
// was caused that nobody has heard of.
func TellNewest(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, kind Kind) error {
	notes, err := Notes(ctx, tx, visitID)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(notes[visitID], func(n Note) bool { return n.Kind == kind })
	if i < 0 || notes[visitID][i].Heard() {
		return nil
	}
	return Tell(ctx, tx, by, notes[visitID][i].ID)
}

// postTold makes the message of something that nothing has caused one for. It
// never waits longer than this transaction.
func postTold(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, kind Kind) (id int64, err error) {
	c := Cause{Kind: kind, VisitID: visitID, Key: "told " + by.Intent.String()}
	err = tx.QueryRow(ctx, "select c.now_id from visit v join customer_now c on c.id = v.customer_id where v.id = $1", visitID).Scan(&c.CustomerID)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, db.NotThere("visit")
	}
	if err != nil {
		return 0, fmt.Errorf("read customer of visit: %w", err)
	}
	id, _, err = Post(ctx, tx, by, c)
	return id, err
}
