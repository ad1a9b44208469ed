package message

import (
	"context"
	"fmt"
	"net/mail"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

func deskOnly(by history.By) error {
	if !by.Has("desk") && !by.Has("owner") {
		return fault.Forbidden("Messages are the desk’s to look after.")
	}
	return nil
}

var errMoved = fault.Conflict("It has come further meanwhile; look again.")

// change is a press on a message that is in one of some states, or on the one in
// whose letter it is written; the event says which.
func change(ctx context.Context, tx pgx.Tx, by history.By, id int64, event, set, states string, args ...any) error {
	if err := deskOnly(by); err != nil {
		return err
	}
	id, err := LetterOf(ctx, tx, id)
	if err != nil {
		return err
	}
	var m Message
	err = tx.QueryRow(ctx, "update message set "+set+" where id = $1 and state in ("+states+") returning id, kind, coalesce(customer_id, 0), coalesce(unit_id, 0)",
		append([]any{id}, args...)...).Scan(&m.ID, &m.Kind, &m.CustomerID, &m.UnitID)
	if err == pgx.ErrNoRows {
		return errMoved
	}
	if err != nil {
		return fmt.Errorf("%s: %w", event, err)
	}
	return m.event(ctx, tx, by, event, "")
}

// Again has a message sent that was not, or that may not have been: at once,
// with all its tries before it. What a customer does not want, or has no
// address for, is dropped once more when its turn comes.
func Again(ctx context.Context, tx pgx.Tx, by history.By, id int64) error {
	return change(ctx, tx, by, id, "message sent again",
		"state = 'waiting', why = '', tries = 0, failing_since = null, not_before = $2, handed_over_at = null, told_at = null, told_by = null",
		"'failed', 'doubtful', 'dropped'", by.At)
}

// Drop has a message not be sent, or one that was not looked at no longer.
func Drop(ctx context.Context, tx pgx.Tx, by history.By, id int64) error {
	return change(ctx, tx, by, id, "message dropped",
		"state = 'dropped', why = $2, handed_over_at = null", "'waiting', 'failed', 'doubtful'", AtTheDesk)
}

// Tell keeps that somebody told the customer by voice what a message says: it is
// not sent any more. What was sent stays so, and what may have been; what is being
// sent is looked at again before it is handed over.
func Tell(ctx context.Context, tx pgx.Tx, by history.By, id int64) error {
	const out = "'sent', 'sending', 'doubtful'"
	return change(ctx, tx, by, id, "told by voice", `told_at = $3, told_by = $4,
			state = case when state in (`+out+`) then state else 'dropped' end, why = case when state in (`+out+`) then why else $2 end`,
		"'waiting', 'failed', 'dropped', "+out, Told, by.At, by.Staff)
}

// again is between the cause of what is sent once more and the act that does so.
const again = " again "

// OnceMore makes a new message of one that was sent.
func OnceMore(ctx context.Context, tx pgx.Tx, by history.By, id int64) (more int64, err error) {
	if err := deskOnly(by); err != nil {
		return 0, err
	}
	if id, err = LetterOf(ctx, tx, id); err != nil {
		return 0, err
	}
	var m Message
	err = tx.QueryRow(ctx, `insert into message (cause, kind, customer_id, visit_id, unit_id, service_code, again_of, mail, not_before, actor_id, intent_id, at)
		select cause || $5 || $3::uuid, kind, customer_id, visit_id, unit_id, service_code, id, mail, $2, nullif($4, 0::bigint), $3::uuid, $2
		from message where id = $1 and state = 'sent' returning id, kind, coalesce(customer_id, 0), coalesce(unit_id, 0)`,
		id, by.At, by.Intent, by.Staff, again).Scan(&m.ID, &m.Kind, &m.CustomerID, &m.UnitID)
	if err == pgx.ErrNoRows {
		return 0, errMoved
	}
	if err != nil {
		return 0, fmt.Errorf("send once more: %w", err)
	}
	_, err = tx.Exec(ctx, `insert into message (cause, kind, customer_id, unit_id, service_code, again_of, goes_with, mail, not_before, actor_id, intent_id, at)
		select cause || $5 || $3::uuid, kind, customer_id, unit_id, service_code, id, $6, mail, $2, nullif($4, 0::bigint), $3::uuid, $2
		from message where goes_with = $1 order by id`, id, by.At, by.Intent, by.Staff, again, m.ID)
	if err != nil {
		return 0, fmt.Errorf("send once more: %w", err)
	}
	return m.ID, m.event(ctx, tx, by, "message posted", "")
}

// PostTest puts a test message to that address into the outbox. The field is
// to.
func PostTest(ctx context.Context, tx pgx.Tx, by history.By, to string) (id int64, err error) {
	if !by.Has("owner") {
		return 0, fault.Forbidden("Test messages are for owners.")
	}
	a, err := mail.ParseAddress(strings.TrimSpace(to))
	if err != nil {
		return 0, fault.Field("to", "Type an address, such as you@example.com.")
	}
	err = tx.QueryRow(ctx, `insert into message (cause, kind, mail, not_before, actor_id, intent_id, at)
		values ('test ' || $1::uuid, 'test', $2, $3, nullif($4, 0::bigint), $1::uuid, $3) returning id`, by.Intent, a.Address, by.At, by.Staff).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("post test message: %w", err)
	}
	return id, Message{ID: id, Kind: Test}.event(ctx, tx, by, "message posted", "")
}

// DropOf drops what is not sent yet, or may not have been, of a customer who is
// about to be erased, and of whoever was merged into them. One that is being sent
// is taken from its sender, unless the mail server may have it already.
func DropOf(ctx context.Context, tx pgx.Tx, by history.By, customerID int64) error {
	rows, err := tx.Query(ctx, `update message set state = 'dropped', why = $2, lease = lease + 1, leased_until = null, handed_over_at = null
		where customer_id in (select id from customer where id = $1 or merged_into = $1)
			and (state in ('waiting', 'failed', 'doubtful') or state = 'sending' and handed_over_at is null)
		returning id, kind, customer_id, coalesce(unit_id, 0)`, customerID, Erased)
	var list []Message
	if err == nil {
		list, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (m Message, err error) {
			return m, row.Scan(&m.ID, &m.Kind, &m.CustomerID, &m.UnitID)
		})
	}
	if err != nil {
		return fmt.Errorf("drop messages: %w", err)
	}
	for _, m := range list {
		if err := m.ownEvent(ctx, tx, by, "message dropped", Erased); err != nil {
			return err
		}
	}
	return nil
}
