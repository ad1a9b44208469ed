package message

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// How a customer said what they want.
const (
	AtDesk = "desk" // on their word
	OnPage = "page" // by the form behind a message's address
	InMail = "mail" // by the button of their mail program
)

// same is the ids of whoever is one customer now with the one in $1: a merge
// brings together what was said.
const same = `(select id from customer_now where now_id = (select now_id from customer_now where id = $1))`

// Wants reports whether the customer wants messages of the kind.
func Wants(ctx context.Context, q db.Querier, customerID int64, kind Kind) (wanted bool, err error) {
	err = q.QueryRow(ctx, "select given from consent where customer_id in "+same+" and kind = $2 order by id desc limit 1", customerID, kind).Scan(&wanted)
	if errors.Is(err, pgx.ErrNoRows) {
		return kind.Wanted(), nil
	}
	if err != nil {
		return false, fmt.Errorf("read what is wanted: %w", err)
	}
	return wanted, nil
}

// Wanted is every kind that goes to customers, and whether this one wants it.
func Wanted(ctx context.Context, q db.Querier, customerID int64) (map[Kind]bool, error) {
	wanted := map[Kind]bool{}
	for _, k := range Kinds {
		wanted[k] = k.Wanted()
	}
	rows, err := q.Query(ctx, "select distinct on (kind) kind, given from consent where customer_id in "+same+" order by kind, id desc", customerID)
	type said struct {
		Kind  Kind
		Given bool
	}
	list, err := db.All[said](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what is wanted: %w", err)
	}
	for _, s := range list {
		wanted[s.Kind] = s.Given
	}
	return wanted, nil
}

// Say keeps that a customer wants messages of a kind, or none of it any more.
// What waits and is not wanted is dropped. Nothing is kept of what stands
// already, and nothing of somebody who was erased.
func Say(ctx context.Context, tx pgx.Tx, by history.By, customerID int64, kind Kind, given bool, how string) error {
	if err := lock(ctx, tx, customerID); err != nil {
		return err
	}
	if before, err := Wants(ctx, tx, customerID, kind); err != nil || before == given {
		return err
	}
	_, err := tx.Exec(ctx, `insert into consent (customer_id, kind, given, how, actor_id, intent_id, at)
		values ($1, $2, $3, $4, nullif($5, 0::bigint), $6, $7)`, customerID, kind, given, how, by.Staff, by.Intent, by.At)
	if err == nil && !given {
		_, err = tx.Exec(ctx, "update message set state = 'dropped', why = $3 where customer_id in "+same+" and kind = $2 and state = 'waiting'", customerID, kind, NotWanted)
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

// lock has two who say at once what they want say it one after the other, and
// refuses what is said of somebody who was erased.
func lock(ctx context.Context, tx pgx.Tx, customerID int64) error {
	var erased bool
	err := tx.QueryRow(ctx, "select erased_at is not null from customer where id = $1 for no key update", customerID).Scan(&erased)
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return db.NotThere("customer")
	case err != nil:
		return fmt.Errorf("keep what is wanted: %w", err)
	case erased:
		return fault.Conflict("This customer was erased: there is nobody to write to.")
	}
	return nil
}

// mostOnPage is how often in 24 hours messages are asked for by the form behind a
// message's address, which may be in anybody's hand.
const mostOnPage = 12

// few refuses to keep more that is asked for on the page where that was done very
// often of late. It hinders nobody who wants less.
func few(ctx context.Context, tx pgx.Tx, by history.By, customerID int64, wanted map[Kind]bool) error {
	if err := lock(ctx, tx, customerID); err != nil {
		return err
	}
	before, err := Wanted(ctx, tx, customerID)
	if err != nil || !slices.ContainsFunc(Kinds, func(k Kind) bool { return wanted[k] && !before[k] }) {
		return err
	}
	var n int
	err = tx.QueryRow(ctx, "select count(distinct intent_id) from consent where customer_id in "+same+" and how = $2 and given and at > $3",
		customerID, OnPage, by.At.Add(-24*time.Hour)).Scan(&n)
	if err != nil {
		return fmt.Errorf("count what was asked for: %w", err)
	}
	if n >= mostOnPage {
		return fault.Conflict("That is enough for one day. What you untick is kept at any time; tick more tomorrow, or ring us.")
	}
	return nil
}

// SayAll keeps of every kind whether it is among those wanted.
func SayAll(ctx context.Context, tx pgx.Tx, by history.By, customerID int64, wanted map[Kind]bool, how string) error {
	if how == AtDesk && !by.Has("desk") && !by.Has("owner") {
		return fault.Forbidden("What customers want to be told is the desk’s to keep.")
	}
	if how == OnPage {
		if err := few(ctx, tx, by, customerID, wanted); err != nil {
			return err
		}
	}
	for _, k := range Kinds {
		if err := Say(ctx, tx, by, customerID, k, wanted[k], how); err != nil {
			return err
		}
	}
	return nil
}

// Ask keeps that the customer of a visit wants those kinds, on their word at the
// desk; what is not among them stays as it stands.
func Ask(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, wanted map[Kind]bool) error {
	var customer int64
	err := tx.QueryRow(ctx, "select c.now_id from visit v join customer_now c on c.id = v.customer_id where v.id = $1", visitID).Scan(&customer)
	if err != nil {
		return fmt.Errorf("read customer of visit: %w", err)
	}
	for _, k := range Kinds {
		if !wanted[k] {
			continue
		}
		if err := Say(ctx, tx, by, customer, k, true, AtDesk); err != nil {
			return err
		}
	}
	return nil
}
