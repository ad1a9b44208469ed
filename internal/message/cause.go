package message

import (
	"context"
	"errors"
	"fmt"
	"strings"
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

// Since is what a service comes due by: the day it was last done, zero for never
// here, and that of the event that asks for it, zero for none.
type Since struct{ Done, Asked time.Time }

// key has the day it was last done first.
func (s Since) key() string {
	key := "never"
	if !s.Done.IsZero() {
		key = s.Done.Format(time.DateOnly)
	}
	if !s.Asked.IsZero() {
		key += asked + s.Asked.Format(time.DateOnly)
	}
	return key
}

const asked = " asked "

// Since is the day on which what is due was last done, or never, as its cause has
// it, and whether an event asks for it.
func (m Message) Since() (done string, isAsked bool) {
	done, rest, _ := strings.Cut(m.Key(), " ")
	return done, strings.HasPrefix(" "+rest, asked)
}

// PostDueSoon tells the owner of a unit that a service comes due again, each owner
// once for each time it was done last and each event since. One that nobody heard of,
// for it was dropped or failed, is posted anew. state is that of what was
// posted; empty where nothing was.
func PostDueSoon(ctx context.Context, tx pgx.Tx, by history.By, unitID int64, service string, since Since) (state State, err error) {
	c := Cause{Kind: DueSoon, UnitID: unitID, Service: service}
	var as int64 // who they were when they last heard of the unit: a merge makes nobody a new owner
	err = tx.QueryRow(ctx, `select c.now_id, coalesce((select m.customer_id from message m where m.kind = 'due soon' and m.unit_id = u.id
				and m.customer_id in (select id from customer where id = c.now_id or merged_into = c.now_id) order by m.id desc limit 1), c.now_id)
		from unit u join customer_now c on c.id = u.customer_id where u.id = $1`, unitID).Scan(&c.CustomerID, &as)
	if errors.Is(err, pgx.ErrNoRows) {
		return "", db.NotThere("unit")
	}
	if err != nil {
		return "", fmt.Errorf("read whose unit it is: %w", err)
	}
	c.Key = fmt.Sprintf("%s of %d", since.key(), as)
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
	err = tx.QueryRow(ctx, `update message set state = $2, why = $3, mail = $4, tries = 0, failing_since = null, not_before = $5, at = $5, actor_id = nullif($6, 0::bigint), intent_id = $7
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
