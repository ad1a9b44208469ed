// Package link lets a customer see one visit by an address that cannot be
// guessed, without an account. The database keeps only a hash of each token; a
// server that has the key works the token out again to show it to the desk.
package link

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// MinKey is the least length of the key in bytes.
const MinKey = 32

var (
	errShortKey = fmt.Errorf("link key has fewer than %d bytes", MinKey)
	errGone     = fault.NotFound("This link does not work any more. Ask the shop for a new one.")
)

// token is the secret of a link: base64url, 43 characters, of an HMAC-SHA256
// under the key.
func token(key []byte, id int64) string {
	mac := hmac.New(sha256.New, key)
	mac.Write([]byte("visit link " + strconv.FormatInt(id, 10)))
	return base64.RawURLEncoding.EncodeToString(mac.Sum(nil))
}

func hash(token string) []byte {
	sum := sha256.Sum256([]byte(token))
	return sum[:]
}

// Make gives the visit a link that works until expires. A link that works
// already is kept and lengthened if need be, so that the address a customer has
// stays good; after Revoke, or under another key, it is a new one.
func Make(ctx context.Context, tx pgx.Tx, by history.By, key []byte, visitID int64, expires time.Time) (string, error) {
	if !expires.After(by.At) {
		return "", fault.Field("expires", "A link has to last for some time.")
	}
	// The lock lets two people who ask for a link at once get the same one.
	customer, err := lockVisit(ctx, tx, visitID)
	if err != nil {
		return "", err
	}
	id, secret, err := live(ctx, tx, key, visitID, by.At)
	if err != nil {
		return "", err
	}
	if secret != "" {
		_, err := tx.Exec(ctx, "update link set expires_at = greatest(expires_at, $2) where id = $1", id, expires)
		if err != nil {
			return "", fmt.Errorf("lengthen link: %w", err)
		}
		return secret, appendEvent(ctx, tx, by, "link lengthened", visitID, customer, id)
	}
	if err := tx.QueryRow(ctx, "select nextval(pg_get_serial_sequence('link', 'id'))").Scan(&id); err != nil {
		return "", fmt.Errorf("make link: %w", err)
	}
	secret = token(key, id)
	_, err = tx.Exec(ctx, `insert into link (id, token_hash, visit_id, made_at, expires_at) overriding system value
		values ($1, $2, $3, $4, $5)`, id, hash(secret), visitID, by.At, expires)
	if err != nil {
		return "", fmt.Errorf("make link: %w", err)
	}
	return secret, appendEvent(ctx, tx, by, "link made", visitID, customer, id)
}

// Show is the token of the visit's link that works at now; ok is false when
// there is none, or none of this key.
func Show(ctx context.Context, q db.Querier, key []byte, visitID int64, now time.Time) (secret string, ok bool, err error) {
	_, secret, err = live(ctx, q, key, visitID, now)
	return secret, secret != "", err
}

// live is the newest link of the visit that works at now and whose token this
// key gives; an empty token when there is none.
func live(ctx context.Context, q db.Querier, key []byte, visitID int64, now time.Time) (id int64, secret string, err error) {
	if len(key) < MinKey {
		return 0, "", errShortKey
	}
	rows, err := q.Query(ctx, `select id, token_hash from link
		where visit_id = $1 and revoked_at is null and expires_at > $2 order by id desc`, visitID, now)
	type row struct {
		ID        int64
		TokenHash []byte
	}
	list, err := db.All[row](rows, err)
	if err != nil {
		return 0, "", fmt.Errorf("read links: %w", err)
	}
	for _, l := range list {
		if secret := token(key, l.ID); hmac.Equal(hash(secret), l.TokenHash) {
			return l.ID, secret, nil
		}
	}
	return 0, "", nil
}

// Open is the visit a token leads to at now. A token that is unknown, revoked
// or out of date is one and the same NotFound.
func Open(ctx context.Context, q db.Querier, secret string, now time.Time) (int64, error) {
	var visitID int64
	err := q.QueryRow(ctx, `select visit_id from link
		where token_hash = $1 and revoked_at is null and expires_at > $2`, hash(secret), now).Scan(&visitID)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, errGone
	}
	if err != nil {
		return 0, fmt.Errorf("open link: %w", err)
	}
	return visitID, nil
}

// Revoke ends every link of the visit, whatever its key.
func Revoke(ctx context.Context, tx pgx.Tx, by history.By, visitID int64) error {
	customer, err := lockVisit(ctx, tx, visitID)
	if err != nil {
		return err
	}
	tag, err := tx.Exec(ctx, "update link set revoked_at = $2 where visit_id = $1 and revoked_at is null", visitID, by.At)
	if err != nil {
		return fmt.Errorf("revoke link: %w", err)
	}
	if tag.RowsAffected() == 0 {
		return fault.Conflict("This visit has no link.")
	}
	return appendEvent(ctx, tx, by, "link revoked", visitID, customer, 0)
}

// RevokeOf ends every link of the visits of a customer and of whoever was merged
// into them; there need not be any.
func RevokeOf(ctx context.Context, tx pgx.Tx, by history.By, customerID int64) error {
	_, err := tx.Exec(ctx, `update link set revoked_at = $2 where revoked_at is null and visit_id in (
		select id from visit where customer_id in (select id from customer where id = $1 or merged_into = $1))`, customerID, by.At)
	if err != nil {
		return fmt.Errorf("revoke links: %w", err)
	}
	return nil
}

func lockVisit(ctx context.Context, tx pgx.Tx, visitID int64) (id int64, err error) {
	var erased bool
	err = tx.QueryRow(ctx, "select v.customer_id, c.erased_at is not null from visit v join customer c on c.id = v.customer_id where v.id = $1 for update of v", visitID).
		Scan(&id, &erased)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, fault.NotFound("There is no such visit.")
	}
	if err != nil {
		return 0, fmt.Errorf("read visit of link: %w", err)
	}
	if erased {
		return 0, fault.Conflict("This customer was erased: there is nobody to have a link.")
	}
	return id, nil
}

func appendEvent(ctx context.Context, tx pgx.Tx, by history.By, kind string, visitID, customer, link int64) error {
	e := history.Event{SubjectKind: "visit", SubjectID: visitID, Customer: customer, Kind: kind}
	if link != 0 {
		e.Detail = map[string]any{"link": link}
	}
	return history.Append(ctx, tx, by, e)
}
