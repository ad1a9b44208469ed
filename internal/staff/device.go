package staff

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Device is a tablet that an owner enrolled. One that was revoked is never good
// again: the tablet is enrolled anew.
type Device struct {
	ID         int64
	Name       string
	EnrolledBy string // empty: the program itself
	EnrolledAt time.Time
	RevokedAt  *time.Time
	UsedAt     *time.Time // when something was last recorded on it
	Version    int
}

const deviceQuery = `select d.id, d.name, coalesce(s.name, '') as enrolled_by, d.enrolled_at, d.revoked_at, d.version,
		(select max(i.at) from intent i where i.device_id = d.id) as used_at
	from device d left join staff s on s.id = d.enrolled_by `

// Devices lists the tablets by name, those that were revoked last, the newest
// of them first.
func Devices(ctx context.Context, q db.Querier) ([]Device, error) {
	rows, err := q.Query(ctx, deviceQuery+"order by d.revoked_at desc nulls first, lower(d.name)")
	list, err := db.All[Device](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list tablets: %w", err)
	}
	return list, nil
}

// GetDevice reads one tablet, also one that was revoked.
func GetDevice(ctx context.Context, q db.Querier, id int64) (Device, error) {
	return oneDevice(ctx, q, "where d.id = $1", id)
}

// DeviceByToken reads the tablet that holds the token. One that was revoked is
// NotFound.
func DeviceByToken(ctx context.Context, q db.Querier, token string) (Device, error) {
	return oneDevice(ctx, q, "where d.token_hash = $1 and d.revoked_at is null", tokenHash(token))
}

func oneDevice(ctx context.Context, q db.Querier, where string, arg any) (Device, error) {
	rows, err := q.Query(ctx, deviceQuery+where, arg)
	d, err := db.One[Device](rows, err, "tablet")
	if err != nil {
		return Device{}, fmt.Errorf("read tablet: %w", err)
	}
	return d, nil
}

// DeviceToken is what a tablet's cookie holds. It is made from the act that
// enrols the tablet and the server's key, so that the same press sent twice
// gives one token, and nobody without the key can make it.
func DeviceToken(key []byte, act uuid.UUID) string {
	mac := hmac.New(sha256.New, key)
	mac.Write([]byte("tablet "))
	mac.Write(act[:])
	return base64.RawURLEncoding.EncodeToString(mac.Sum(nil))
}

// tokenHash needs no salt and no work: a token has 256 random bits.
func tokenHash(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}

// Enrol makes whatever holds the token a tablet of the shop; an owner may, and
// the program itself. No two tablets in use share a name.
func Enrol(ctx context.Context, tx pgx.Tx, by history.By, name, token string) (int64, error) {
	if err := tabletsOwnerOnly(by); err != nil {
		return 0, err
	}
	name = clean(name)
	if says := nameRefusal(name); says != "" {
		return 0, fault.Field("name", says)
	}
	var id int64
	err := tx.QueryRow(ctx, `insert into device (name, token_hash, enrolled_by, enrolled_at)
		values ($1, $2, nullif($3, 0), $4) returning id`, name, tokenHash(token), by.Staff, by.At).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("enrol tablet: %w", db.Translate(err))
	}
	return id, tellDevice(ctx, tx, by, id, "tablet enrolled")
}

// RenameDevice gives the tablet another name, also for what was done on it.
func RenameDevice(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, name string) error {
	if err := tabletsOwnerOnly(by); err != nil {
		return err
	}
	name = clean(name)
	if says := nameRefusal(name); says != "" {
		return fault.Field("name", says)
	}
	tag, err := tx.Exec(ctx, `update device set name = $3, version = version + 1
		where id = $1 and version = $2 and revoked_at is null`, id, version, name)
	if err := db.Changed(tag, db.Translate(err)); err != nil {
		return fmt.Errorf("rename tablet: %w", err)
	}
	return tellDevice(ctx, tx, by, id, "tablet renamed")
}

// Revoke ends the use of the tablet: no PIN is looked at on it any more, and
// who signed in there is signed out.
func Revoke(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int) error {
	if err := tabletsOwnerOnly(by); err != nil {
		return err
	}
	tag, err := tx.Exec(ctx, `update device set revoked_at = greatest($3, enrolled_at), version = version + 1
		where id = $1 and version = $2 and revoked_at is null`, id, version, by.At)
	if err := db.Changed(tag, err); err != nil {
		return fmt.Errorf("revoke tablet: %w", err)
	}
	return tellDevice(ctx, tx, by, id, "tablet revoked")
}

func tabletsOwnerOnly(by history.By) error {
	if by.Staff == 0 || by.Has(Owner) {
		return nil
	}
	return fault.Forbidden("Only an owner can change the tablets.")
}

func tellDevice(ctx context.Context, tx pgx.Tx, by history.By, id int64, kind string) error {
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "device", SubjectID: id, Kind: kind})
}
