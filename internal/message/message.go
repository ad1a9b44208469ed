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
	AtTheDesk Why = "dropped at the desk"
	Erased    Why = "customer erased"
)

// The reasons of a message that waits for another try, or failed.
const (
	Unreachable Why = "mail server not reached"
	NotSecure   Why = "no secure connection"
	SignIn      Why = "sign-in refused"
	PutOff      Why = "put off by the server"
	BadAddress  Why = "address refused"
	Refused     Why = "message refused"
	BrokeOff    Why = "broke off before its end"
	NotWritten  Why = "could not be written"
)

// The reasons of a doubtful message.
const (
	NoReply Why = "no reply after its end"
	Stopped Why = "stopped at its end"
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
	// GoesWith is the message to the same customer in whose letter it is written
	// too; 0: it has its own.
	GoesWith int64
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
	f, err := fateOf(ctx, tx, c.CustomerID, c.Kind)
	if err != nil {
		return 0, false, fmt.Errorf("post message: %w", err)
	}
	return c.post(ctx, tx, by, f)
}

// post is Post with what becomes of the message.
func (c Cause) post(ctx context.Context, tx pgx.Tx, by history.By, f fate) (id int64, posted bool, err error) {
	notBefore := by.At
	if c.NotBefore.After(notBefore) {
		notBefore = c.NotBefore
	}
	err = tx.QueryRow(ctx, `insert into message (cause, kind, customer_id, visit_id, unit_id, service_code, state, why, mail, not_before, actor_id, intent_id, at, goes_with)
		values ($1, $2, nullif($3, 0::bigint), nullif($4, 0::bigint), nullif($5, 0::bigint), nullif($6, ''), $7, $8, $9, $10, nullif($11, 0::bigint), $12, $13, nullif($14, 0::bigint))
		on conflict (cause) do nothing returning id`,
		c.id(), c.Kind, c.CustomerID, c.VisitID, c.UnitID, c.Service, f.State, f.Why, f.Mail, notBefore, by.Staff, by.Intent, by.At, c.GoesWith).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, false, nil
	}
	if err == nil {
		err = c.posted(ctx, tx, by, id, f.State)
	}
	if err != nil {
		return 0, false, fmt.Errorf("post message: %w", err)
	}
	return id, true, nil
}

func (c Cause) posted(ctx context.Context, tx pgx.Tx, by history.By, id int64, state State) error {
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "message", SubjectID: id, Customer: c.CustomerID, Unit: c.UnitID,
		Kind: "message posted", Detail: map[string]any{"message": id, "kind": c.Kind, "state": state}})
}

// fate is what becomes of a message to a customer, as things stand.
type fate struct {
	State State  // Waiting or Dropped
	Why   Why    // it is dropped
	Mail  string // where it goes
}

func fateOf(ctx context.Context, q db.Querier, customerID int64, kind Kind) (f fate, err error) {
	var mail string
	if err = q.QueryRow(ctx, "select mail from customer_now where id = $1", customerID).Scan(&mail); err != nil {
		return f, err
	}
	wanted, err := Wants(ctx, q, customerID, kind)
	switch {
	case err != nil:
		return f, err
	case !wanted:
		return fate{State: Dropped, Why: NotWanted}, nil
	case mail == "":
		return fate{State: Dropped, Why: NoAddress}, nil
	}
	return fate{State: Waiting, Mail: mail}, nil
}
