package message

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
)

// PostVisit posts a message about a visit to whoever is its customer now. What
// waits of that kind for the visit is overtaken: the newer one says it all.
func PostVisit(ctx context.Context, tx pgx.Tx, by history.By, kind Kind, visitID int64, key string, notBefore time.Time) error {
	c := Cause{Kind: kind, VisitID: visitID, Key: key, NotBefore: notBefore}
	err := tx.QueryRow(ctx, "select c.now_id from visit v join customer_now c on c.id = v.customer_id where v.id = $1", visitID).Scan(&c.CustomerID)
	if err != nil {
		return fmt.Errorf("read customer of visit: %w", err)
	}
	id, posted, err := Post(ctx, tx, by, c)
	if err != nil || !posted {
		return err
	}
	// One that is being sent at this moment is not waited for.
	_, err = tx.Exec(ctx, `update message set state = 'dropped', why = $4
		where id in (select id from message where visit_id = $1 and kind = $2 and id <> $3 and state = 'waiting' for update skip locked)`,
		visitID, kind, id, Overtaken)
	if err != nil {
		return fmt.Errorf("overtake message: %w", err)
	}
	return nil
}

// PostFirstRide asks about the first ride some days after units of a visit were
// handed over, once for all that are handed over on one day (in UTC).
func PostFirstRide(ctx context.Context, tx pgx.Tx, by history.By, visitID int64) error {
	s, err := GetSetting(ctx, tx)
	if err != nil || s.FirstRideDays == 0 {
		return err
	}
	return PostVisit(ctx, tx, by, FirstRide, visitID, by.At.UTC().Format(time.DateOnly), by.At.AddDate(0, 0, s.FirstRideDays))
}

// PostDueSoon tells the owner of a unit that a service comes due again, once for
// each time it was done last; a zero day is never here. One that nobody heard of,
// for it was dropped or failed, is posted anew. state is that of what was
// posted; empty where nothing was.
func PostDueSoon(ctx context.Context, tx pgx.Tx, by history.By, unitID int64, service string, last time.Time) (state State, err error) {
	c := Cause{Kind: DueSoon, UnitID: unitID, Service: service, Key: "never"}
	if !last.IsZero() {
		c.Key = last.Format(time.DateOnly)
	}
	err = tx.QueryRow(ctx, "select c.now_id from unit u join customer_now c on c.id = u.customer_id where u.id = $1", unitID).Scan(&c.CustomerID)
	if errors.Is(err, pgx.ErrNoRows) {
		return "", db.NotThere("unit")
	}
	if err != nil {
		return "", fmt.Errorf("read whose unit it is: %w", err)
	}
	_, state, err = post(ctx, tx, by, c)
	if err != nil || state != "" {
		return state, err
	}
	return c.anew(ctx, tx, by)
}

// anew puts the message of a cause that nobody heard of back to where a new one
// would be; state is empty where there is none.
func (c Cause) anew(ctx context.Context, tx pgx.Tx, by history.By) (State, error) {
	state, why, mail, err := fate(ctx, tx, c.CustomerID, c.Kind)
	if err != nil {
		return "", fmt.Errorf("post message anew: %w", err)
	}
	var id int64
	err = tx.QueryRow(ctx, `update message set state = $2, why = $3, mail = $4, tries = 0, not_before = $5, at = $5, actor_id = nullif($6, 0::bigint), intent_id = $7
		where cause = $1 and state in ('dropped', 'failed') and told_at is null returning id`,
		c.id(), state, why, mail, by.At, by.Staff, by.Intent).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		return "", nil
	}
	if err == nil {
		err = c.posted(ctx, tx, by, id, state)
	}
	if err != nil {
		return "", fmt.Errorf("post message anew: %w", err)
	}
	return state, nil
}

// OvertakenKeys are those of the causes of a kind and a visit that were overtaken before
// anybody heard of them.
func OvertakenKeys(ctx context.Context, q db.Querier, kind Kind, visitID int64) ([]string, error) {
	prefix := Cause{Kind: kind, VisitID: visitID}.id()
	rows, err := q.Query(ctx, `select substr(cause, length($3) + 1) from message
		where visit_id = $1 and kind = $2 and why = $4 and told_at is null`, visitID, kind, prefix, Overtaken)
	if err != nil {
		return nil, fmt.Errorf("read what was overtaken: %w", err)
	}
	list, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, fmt.Errorf("read what was overtaken: %w", err)
	}
	return list, nil
}

// ErrMoot is that a message says nothing any more by the time it is written.
var ErrMoot = errors.New("there is nothing to tell any more")

// Moot drops a leased message that says nothing any more.
func (m Message) Moot(ctx context.Context, tx pgx.Tx, by history.By) error {
	return m.settle(ctx, tx, by, Dropped, Overtaken)
}
