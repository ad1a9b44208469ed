// Package intent makes an act happen once: a form, a retry and a queued press
// carry the same id, and only the first one does the work.
package intent

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
)

// Act is one press of one person.
type Act struct {
	ID    uuid.UUID
	Kind  string
	Actor int64 // staff id, 0 for none
	// Device is the tablet it is done on, 0 for none. The same act sent again
	// from elsewhere is still the same.
	Device int64
	// Fingerprint tells this payload from any other.
	Fingerprint []byte
	At          time.Time
}

// Claim takes the act's id for the running transaction. A second claim waits
// until the first has ended: after a commit it gets the first one's answer and
// done is true, after a rollback it may do the work. The same id with another
// kind, actor or payload is a Conflict.
func Claim(ctx context.Context, tx pgx.Tx, a Act) (answer string, done bool, err error) {
	tag, err := tx.Exec(ctx, `insert into intent (id, kind, actor_id, device_id, fingerprint, at)
		values ($1, $2, nullif($3, 0), nullif($4, 0), $5, $6) on conflict (id) do nothing`,
		a.ID, a.Kind, a.Actor, a.Device, a.Fingerprint, a.At)
	if err != nil {
		return "", false, fmt.Errorf("claim intent: %w", err)
	}
	if tag.RowsAffected() == 1 {
		return "", false, nil
	}
	var (
		kind        string
		actor       int64
		fingerprint []byte
	)
	err = tx.QueryRow(ctx, `select kind, coalesce(actor_id, 0), fingerprint, coalesce(answer, '')
		from intent where id = $1`, a.ID).Scan(&kind, &actor, &fingerprint, &answer)
	if err != nil {
		return "", false, fmt.Errorf("read intent: %w", err)
	}
	if kind != a.Kind || actor != a.Actor || !bytes.Equal(fingerprint, a.Fingerprint) {
		return "", false, fault.Conflict("This form was sent before with other contents; open the page again.")
	}
	return answer, true, nil
}

// File keeps an act in the transaction of another that was claimed, as one of
// several done together. It leads nowhere; twice is an error.
func File(ctx context.Context, tx pgx.Tx, a Act) error {
	_, err := tx.Exec(ctx, `insert into intent (id, kind, actor_id, device_id, fingerprint, at, answer)
		values ($1, $2, nullif($3, 0), nullif($4, 0), $5, $6, '')`,
		a.ID, a.Kind, a.Actor, a.Device, a.Fingerprint, a.At)
	if err != nil {
		return fmt.Errorf("file intent: %w", err)
	}
	return nil
}

// Answer keeps where the act led, for whoever claims it again.
func Answer(ctx context.Context, tx pgx.Tx, id uuid.UUID, answer string) error {
	if _, err := tx.Exec(ctx, "update intent set answer = $2 where id = $1", id, answer); err != nil {
		return fmt.Errorf("answer intent: %w", err)
	}
	return nil
}

// Done reports whether the act was committed, by whomever.
func Done(ctx context.Context, q db.Querier, id uuid.UUID) (done bool, err error) {
	err = q.QueryRow(ctx, "select exists (select from intent where id = $1)", id).Scan(&done)
	if err != nil {
		return false, fmt.Errorf("look for intent: %w", err)
	}
	return done, nil
}

// Do is how everything is written: one transaction that claims the act, does
// the work, keeps where it led and commits. A repeated act does nothing and
// leads where the first one did. That is why Do may try again when the
// connection is lost, where nobody can tell whether the commit was done.
func Do(ctx context.Context, pool *db.Pool, a Act, work func(pgx.Tx) (to string, err error)) (to string, err error) {
	to, err = do(ctx, pool, a, work)
	if lostConnection(err) && ctx.Err() == nil {
		to, err = do(ctx, pool, a, work)
	}
	return to, err
}

func do(ctx context.Context, pool *db.Pool, a Act, work func(pgx.Tx) (to string, err error)) (to string, err error) {
	err = db.Write(ctx, pool, func(tx pgx.Tx) error {
		answer, done, err := Claim(ctx, tx, a)
		if err != nil || done {
			to = answer
			return err
		}
		if to, err = work(tx); err != nil {
			return err
		}
		return Answer(ctx, tx, a.ID, to)
	})
	return to, err
}

// lostConnection tells a connection that ended, or was ended by a server that
// stops (57P01 to 57P03), from an answer of the database. One that is lost at
// the commit shows as closed at the rollback after it, which is safe to retry.
func lostConnection(err error) bool {
	var pg *pgconn.PgError
	if errors.As(err, &pg) {
		return pg.Code >= "57P01" && pg.Code <= "57P03"
	}
	var network *net.OpError
	return pgconn.SafeToRetry(err) || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.As(err, &network)
}
