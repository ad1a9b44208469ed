package job

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/message"
)

// How a promise stands to what was proposed for it.
const (
	AsProposed = "as proposed"
	Earlier    = "earlier"
	Later      = "later"
	SameDay    = "same day" // earlier, and for the day it is given on
	Unproposed = "by hand"  // nothing was proposed
)

// Foreseen is what the line-up said of a visit when its promise was given; a
// zero time is nothing.
type Foreseen struct {
	Expected time.Time // when the work would be ready
	Proposed time.Time // what to promise, so that it is kept as surely as the shop wants
}

// Promise is a ready-by that was given to a customer.
type Promise struct {
	PromisedAt time.Time
	How        string
	Reason     string
	ExpectedAt *time.Time // nil: nobody could say
	ProposedAt *time.Time
	At         time.Time
	By         string
}

// HowPromised is how a promise given at a moment stands to what was foreseen.
func HowPromised(at, promised time.Time, f Foreseen, zone *time.Location) string {
	switch {
	case f.Proposed.IsZero():
		return Unproposed
	case promised.Equal(f.Proposed):
		return AsProposed
	case promised.After(f.Proposed):
		return Later
	case interval.Day(promised, zone).Equal(interval.Day(at, zone)):
		return SameDay
	}
	return Earlier
}

// Promises are those of a visit, the newest first.
func Promises(ctx context.Context, q db.Querier, visitID int64) ([]Promise, error) {
	rows, err := q.Query(ctx, `select p.promised_at, p.how, p.reason, p.expected_at, p.proposed_at, p.at, coalesce(s.name, '') as by
		from promise p left join staff s on s.id = p.actor_id where p.visit_id = $1 order by p.id desc`, visitID)
	list, err := db.All[Promise](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read promises: %w", err)
	}
	return list, nil
}

// keepPromise adds a row; that the visit says the same is for the caller.
func keepPromise(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, promised time.Time, reason string, f Foreseen, zone *time.Location) (id int64, err error) {
	err = tx.QueryRow(ctx, `insert into promise (visit_id, promised_at, how, reason, expected_at, proposed_at, actor_id, intent_id, at)
		values ($1, $2, $3, $4, $5, $6, nullif($7, 0::bigint), $8, $9) returning id`,
		visitID, promised, HowPromised(by.At, promised, f, zone), reason, orNull(f.Expected), orNull(f.Proposed),
		by.Staff, by.Intent, by.At).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("keep promise: %w", err)
	}
	return id, nil
}

func orNull(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}

// MovePromise gives another ready-by to a visit that is still at the version
// the person saw and has work to come, and tells the customer. Why stands beside
// it.
func MovePromise(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, version int, promised time.Time, reason string, seen Foreseen, zone *time.Location) error {
	reason = strings.TrimSpace(reason)
	f := faults{}
	checkPromise(f, by.At, promised)
	f.add("reason", reason == "", "Say why in a few words.")
	f.long("reason", reason, maxShort)
	if err := f.err(); err != nil {
		return err
	}
	var customerID int64
	var open int
	var was time.Time
	err := tx.QueryRow(ctx, `select customer_id, promised_at, (select count(*) from job where visit_id = v.id and closed_at is null and stage <> $2)
		from visit v where id = $1 for no key update`, visitID, Ready).Scan(&customerID, &was, &open)
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return db.NotThere("visit")
	case err != nil:
		return fmt.Errorf("move promise: %w", err)
	case open == 0:
		return fault.Conflict("Nothing of this visit is still to be done, so there is no promise to move.")
	case was.Equal(promised):
		return fault.Field("promised", "That is what is promised already.")
	}
	err = db.Changed(tx.Exec(ctx, "update visit set promised_at = $3, version = version + 1 where id = $1 and version = $2", visitID, version, promised))
	if err != nil {
		return fmt.Errorf("move promise: %w", err)
	}
	id, err := keepPromise(ctx, tx, by, visitID, promised, reason, seen, zone)
	if err != nil {
		return err
	}
	if err := message.PostVisit(ctx, tx, by, message.Moved, visitID, fmt.Sprint(id), time.Time{}); err != nil {
		return err
	}
	return history.Append(ctx, tx, by, history.Event{
		SubjectKind: "visit", SubjectID: visitID, Customer: customerID, Kind: "promise moved",
		Detail: map[string]any{"from": was.UTC().Format(time.RFC3339), "to": promised.UTC().Format(time.RFC3339)}})
}

// checkPromise is what holds of every promise given at a moment.
func checkPromise(f faults, at, promised time.Time) {
	f.add("promised", promised.IsZero(), "Say by when it will be ready.")
	f.add("promised", !promised.After(at), "That time is past: promise a time to come.")
	f.add("promised", promised.Sub(at) > longestAhead, "That is more than a year away: check the day.")
}
