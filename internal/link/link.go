// Package link lets a customer see one visit, or the service book of one unit, by
// an address that cannot be guessed, without an account. The database keeps only a
// hash of each token; a server that has the key works the token out again to show
// it to the desk.
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
)

// ErrGone is the one answer to a token that is unknown, revoked, out of date or of
// another purpose.
const ErrGone = fault.NotFound("This link does not work any more. Ask the shop for a new one.")

// UnitLasts is how many years the link of a unit works from when it was made or
// the unit was last here: longer than riders stay away who come back at all.
const UnitLasts = 2

// What a link shows.
const (
	OfVisit = "visit"
	OfUnit  = "unit"
)

// owner is the visit or unit that a link shows.
type owner struct {
	purpose string
	id      int64
}

// column is the one of the table link that names the owner.
func (o owner) column() string { return o.purpose + "_id" }

// token is the secret of a link: base64url, 43 characters, of an HMAC-SHA256
// under the key. It holds 256 bits.
func token(key []byte, purpose string, id int64) string {
	mac := hmac.New(sha256.New, key)
	mac.Write([]byte(purpose + " link " + strconv.FormatInt(id, 10)))
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
	return owner{OfVisit, visitID}.make(ctx, tx, by, key, expires)
}

// MakeOfUnit is Make for the service book of a unit; it works for UnitLasts years.
func MakeOfUnit(ctx context.Context, tx pgx.Tx, by history.By, key []byte, unitID int64) (string, error) {
	return owner{OfUnit, unitID}.make(ctx, tx, by, key, by.At.AddDate(UnitLasts, 0, 0))
}

func (o owner) make(ctx context.Context, tx pgx.Tx, by history.By, key []byte, expires time.Time) (string, error) {
	if !expires.After(by.At) {
		return "", fault.Field("expires", "A link has to last for some time.")
	}
	// The lock lets two people who ask for a link at once get the same one.
	customer, err := o.lock(ctx, tx)
	if err != nil {
		return "", err
	}
	id, secret, err := o.live(ctx, tx, key, by.At)
	if err != nil {
		return "", err
	}
	if secret != "" {
		_, err := tx.Exec(ctx, "update link set expires_at = greatest(expires_at, $2) where id = $1", id, expires)
		if err != nil {
			return "", fmt.Errorf("lengthen link: %w", err)
		}
		return secret, o.append(ctx, tx, by, "link lengthened", customer, id)
	}
	if err := tx.QueryRow(ctx, "select nextval(pg_get_serial_sequence('link', 'id'))").Scan(&id); err != nil {
		return "", fmt.Errorf("make link: %w", err)
	}
	secret = token(key, o.purpose, id)
	_, err = tx.Exec(ctx, `insert into link (id, token_hash, purpose, `+o.column()+`, made_at, expires_at) overriding system value
		values ($1, $2, $3, $4, $5, $6)`, id, hash(secret), o.purpose, o.id, by.At, expires)
	if err != nil {
		return "", fmt.Errorf("make link: %w", err)
	}
	return secret, o.append(ctx, tx, by, "link made", customer, id)
}

// Lengthen makes a unit's link, if one works, last for UnitLasts years from now.
func Lengthen(ctx context.Context, tx pgx.Tx, by history.By, unitID int64) error {
	tag, err := tx.Exec(ctx, `update link set expires_at = greatest(expires_at, $2)
		where unit_id = $1 and revoked_at is null and expires_at > $3`, unitID, by.At.AddDate(UnitLasts, 0, 0), by.At)
	if err != nil {
		return fmt.Errorf("lengthen link: %w", err)
	}
	if tag.RowsAffected() == 0 {
		return nil
	}
	o := owner{OfUnit, unitID}
	customer, err := o.lock(ctx, tx)
	if err != nil {
		return err
	}
	return o.append(ctx, tx, by, "link lengthened", customer, 0)
}

// Show is the token of the visit's link that works at now; ok is false when
// there is none, or none of this key.
func Show(ctx context.Context, q db.Querier, key []byte, visitID int64, now time.Time) (secret string, ok bool, err error) {
	_, secret, err = owner{OfVisit, visitID}.live(ctx, q, key, now)
	return secret, secret != "", err
}

// ShowOfUnit is Show for the service book of a unit.
func ShowOfUnit(ctx context.Context, q db.Querier, key []byte, unitID int64, now time.Time) (secret string, ok bool, err error) {
	_, secret, err = owner{OfUnit, unitID}.live(ctx, q, key, now)
	return secret, secret != "", err
}

// live is the owner's newest link that works at now and whose token this key
// gives; an empty token when there is none.
func (o owner) live(ctx context.Context, q db.Querier, key []byte, now time.Time) (id int64, secret string, err error) {
	if len(key) < MinKey {
		return 0, "", errShortKey
	}
	rows, err := q.Query(ctx, `select id, token_hash from link
		where `+o.column()+` = $1 and revoked_at is null and expires_at > $2 order by id desc`, o.id, now)
	type row struct {
		ID        int64
		TokenHash []byte
	}
	list, err := db.All[row](rows, err)
	if err != nil {
		return 0, "", fmt.Errorf("read links: %w", err)
	}
	for _, l := range list {
		if secret := token(key, o.purpose, l.ID); hmac.Equal(hash(secret), l.TokenHash) {
			return l.ID, secret, nil
		}
	}
	return 0, "", nil
}

// Open is the visit a token leads to at now. A token that is unknown, revoked,
// out of date or a unit's is one and the same ErrGone, after the same one query.
func Open(ctx context.Context, q db.Querier, secret string, now time.Time) (visitID int64, err error) {
	return open(ctx, q, OfVisit, secret, now)
}

// OpenUnit is Open for the unit whose service book a token leads to.
func OpenUnit(ctx context.Context, q db.Querier, secret string, now time.Time) (unitID int64, err error) {
	return open(ctx, q, OfUnit, secret, now)
}

func open(ctx context.Context, q db.Querier, purpose, secret string, now time.Time) (id int64, err error) {
	err = q.QueryRow(ctx, `select coalesce(visit_id, unit_id) from link
		where token_hash = $1 and purpose = $2 and revoked_at is null and expires_at > $3`, hash(secret), purpose, now).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, ErrGone
	}
	if err != nil {
		return 0, fmt.Errorf("open link: %w", err)
	}
	return id, nil
}

// Revoke ends every link of the visit, whatever its key.
func Revoke(ctx context.Context, tx pgx.Tx, by history.By, visitID int64) error {
	return owner{OfVisit, visitID}.revoke(ctx, tx, by)
}

// RevokeOfUnit ends every link of the unit, whatever its key.
func RevokeOfUnit(ctx context.Context, tx pgx.Tx, by history.By, unitID int64) error {
	return owner{OfUnit, unitID}.revoke(ctx, tx, by)
}

func (o owner) revoke(ctx context.Context, tx pgx.Tx, by history.By) error {
	customer, err := o.lock(ctx, tx)
	if err != nil {
		return err
	}
	tag, err := tx.Exec(ctx, "update link set revoked_at = $2 where "+o.column()+" = $1 and revoked_at is null", o.id, by.At)
	if err != nil {
		return fmt.Errorf("revoke link: %w", err)
	}
	if tag.RowsAffected() == 0 {
		return fault.Conflict("This " + o.purpose + " has no link.")
	}
	return o.append(ctx, tx, by, "link revoked", customer, 0)
}

// RevokeOf ends every link of the visits and units of a customer and of whoever was
// merged into them; there need not be any.
func RevokeOf(ctx context.Context, tx pgx.Tx, by history.By, customerID int64) error {
	_, err := tx.Exec(ctx, `with who as (select id from customer where id = $1 or merged_into = $1)
		update link set revoked_at = $2 where revoked_at is null and (visit_id in (select id from visit where customer_id in (select id from who))
			or unit_id in (select id from unit where customer_id in (select id from who)))`, customerID, by.At)
	if err != nil {
		return fmt.Errorf("revoke links: %w", err)
	}
	return nil
}

// RevokeSold ends what links of the unit there are, once it has gone to somebody
// else: who has not locked the unit by then misses those that are being made.
func RevokeSold(ctx context.Context, tx pgx.Tx, by history.By, unitID int64) error {
	if _, err := tx.Exec(ctx, "update link set revoked_at = $2 where unit_id = $1 and revoked_at is null", unitID, by.At); err != nil {
		return fmt.Errorf("revoke links: %w", err)
	}
	return nil
}

// lock holds the owner's row and says whose it is; nobody who was erased has links.
func (o owner) lock(ctx context.Context, tx pgx.Tx) (customer int64, err error) {
	var erased bool
	err = tx.QueryRow(ctx, "select o.customer_id, c.erased_at is not null from "+o.purpose+" o join customer c on c.id = o.customer_id where o.id = $1 for no key update of o", o.id).
		Scan(&customer, &erased)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, db.NotThere(o.purpose)
	}
	if err != nil {
		return 0, fmt.Errorf("read %s of link: %w", o.purpose, db.Translate(err))
	}
	if erased {
		return 0, fault.Conflict("This customer was erased: there is nobody to have a link.")
	}
	return customer, nil
}

func (o owner) append(ctx context.Context, tx pgx.Tx, by history.By, kind string, customer, link int64) error {
	e := history.Event{SubjectKind: o.purpose, SubjectID: o.id, Customer: customer, Kind: kind}
	if o.purpose == OfUnit {
		e.Unit, e.Kind = o.id, "book "+kind
	}
	if link != 0 {
		e.Detail = map[string]any{"link": link}
	}
	return history.Append(ctx, tx, by, e)
}
