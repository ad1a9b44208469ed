// Package message keeps what the shop tells its customers: a message is put
// into the outbox by the act that causes it, once for each cause, and sent in
// the background. It knows neither the words nor how mail is sent.
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

// Kind is what a message is for.
type Kind string

// The kinds, in the order of a job.
const (
	Received  Kind = "received"
	GoAhead   Kind = "go-ahead wanted"
	Moved     Kind = "promise moved"
	Ready     Kind = "ready"
	StillHere Kind = "still here"
	FirstRide Kind = "after the first ride"
	DueSoon   Kind = "due soon"
	Test      Kind = "test" // to a member of staff
)

// Kinds are those that go to customers.
var Kinds = []Kind{Received, GoAhead, Moved, Ready, StillHere, FirstRide, DueSoon}

// Wanted reports whether a customer who never said so wants messages of the
// kind: those about work that is in the shop, not those that come later.
func (k Kind) Wanted() bool { return k != FirstRide && k != DueSoon }

// State is how far a message has come.
type State string

// The states. Doubtful is a message that the mail server had in full when the
// line or this program broke off: it may have been sent, so that it is never
// sent again by itself.
const (
	Waiting  State = "waiting"
	Sending  State = "sending"
	Sent     State = "sent"
	Doubtful State = "doubtful"
	Failed   State = "failed"
	Dropped  State = "dropped"
)

// Why is why a message was not sent.
type Why string

// The reasons of a dropped message.
const (
	NoAddress Why = "no address"
	NotWanted Why = "not wanted"
	Told      Why = "told by voice"
	Overtaken Why = "overtaken"
)

// Cause is what a message is about.
type Cause struct {
	Kind       Kind
	CustomerID int64
	VisitID    int64  // 0: none
	UnitID     int64  // 0: none
	Service    string // its code; empty: none
	// Key tells this cause from others of its kind for the same visit or unit,
	// such as the day a promise was moved to.
	Key string
	// NotBefore is the earliest moment it may be sent; zero for at once.
	NotBefore time.Time
}

func (c Cause) id() string {
	return fmt.Sprintf("%s %d %d %s %s", c.Kind, c.VisitID, c.UnitID, c.Service, c.Key)
}

// Post puts a message into the outbox, in the transaction of what causes it.
// The same cause never makes a second one; posted is false then. Where the
// customer has no address or wants none of the kind it is kept as dropped, so
// that the desk sees whom to ring.
func Post(ctx context.Context, tx pgx.Tx, by history.By, c Cause) (id int64, posted bool, err error) {
	state, why, mail, err := fate(ctx, tx, c)
	if err != nil {
		return 0, false, fmt.Errorf("post message: %w", err)
	}
	notBefore := by.At
	if c.NotBefore.After(notBefore) {
		notBefore = c.NotBefore
	}
	err = tx.QueryRow(ctx, `insert into message (cause, kind, customer_id, visit_id, unit_id, service_code, state, why, mail, not_before, actor_id, intent_id, at)
		values ($1, $2, nullif($3, 0::bigint), nullif($4, 0::bigint), nullif($5, 0::bigint), nullif($6, ''), $7, $8, $9, $10, nullif($11, 0::bigint), $12, $13)
		on conflict (cause) do nothing returning id`,
		c.id(), c.Kind, c.CustomerID, c.VisitID, c.UnitID, c.Service, state, why, mail, notBefore, by.Staff, by.Intent, by.At).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, false, nil
	}
	if err == nil {
		err = history.Append(ctx, tx, by, history.Event{SubjectKind: "message", SubjectID: id, Customer: c.CustomerID, Unit: c.UnitID,
			Kind: "message posted", Detail: map[string]any{"message": id, "kind": c.Kind, "state": state}})
	}
	if err != nil {
		return 0, false, fmt.Errorf("post message: %w", err)
	}
	return id, true, nil
}

// fate is what becomes of a message that is caused now.
func fate(ctx context.Context, q db.Querier, c Cause) (state State, why Why, mail string, err error) {
	err = q.QueryRow(ctx, "select mail from customer where id = $1", c.CustomerID).Scan(&mail)
	if err != nil {
		return "", "", "", err
	}
	wanted, err := Wants(ctx, q, c.CustomerID, c.Kind)
	switch {
	case err != nil:
		return "", "", "", err
	case !wanted:
		return Dropped, NotWanted, "", nil
	case mail == "":
		return Dropped, NoAddress, "", nil
	}
	return Waiting, "", mail, nil
}

// Wants reports whether the customer wants messages of the kind.
func Wants(ctx context.Context, q db.Querier, customerID int64, kind Kind) (wanted bool, err error) {
	err = q.QueryRow(ctx, "select given from consent where customer_id = $1 and kind = $2 order by id desc limit 1", customerID, kind).Scan(&wanted)
	if errors.Is(err, pgx.ErrNoRows) {
		return kind.Wanted(), nil
	}
	return wanted, err
}

// Say keeps that a customer wants messages of a kind, or none of it any more;
// how is "desk", "page" or "mail". What waits and is not wanted is dropped.
func Say(ctx context.Context, tx pgx.Tx, by history.By, customerID int64, kind Kind, given bool, how string) error {
	_, err := tx.Exec(ctx, `insert into consent (customer_id, kind, given, how, actor_id, intent_id, at)
		values ($1, $2, $3, $4, nullif($5, 0::bigint), $6, $7)`, customerID, kind, given, how, by.Staff, by.Intent, by.At)
	if err == nil && !given {
		_, err = tx.Exec(ctx, "update message set state = 'dropped', why = $3 where customer_id = $1 and kind = $2 and state = 'waiting'", customerID, kind, NotWanted)
	}
	if err == nil {
		err = history.Append(ctx, tx, by, history.Event{SubjectKind: "customer", SubjectID: customerID, Customer: customerID,
			Kind: "messages wanted", Detail: map[string]any{"kind": kind, "given": given, "how": how}})
	}
	if err != nil {
		return fmt.Errorf("keep what is wanted: %w", err)
	}
	return nil
}
