package staff

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"golang.org/x/text/unicode/norm"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// The rules for a PIN. Six digits are the least that NIST SP 800-63B asks of a
// short secret which is only good on one device; it lets a verifier allow at
// most 100 wrong tries in a row (from memory of the publication). Five are
// plenty for somebody who knows it.
const (
	pinLeast      = 6
	pinMost       = 12
	mostPINMisses = 5
)

// PINRefusal says why a PIN cannot be taken; empty when it can.
func PINRefusal(pin string) string {
	pin = plainPIN(pin)
	switch {
	case strings.Trim(pin, "0123456789") != "" || len(pin) < pinLeast || len(pin) > pinMost:
		return fmt.Sprintf("Take %d to %d digits.", pinLeast, pinMost)
	case guessable(pin):
		return "That is among the first that anybody would try: no runs, and nothing repeated."
	}
	return ""
}

// plainPIN is the PIN as typed on any keyboard, in plain digits.
func plainPIN(pin string) string { return strings.TrimSpace(norm.NFKC.String(pin)) }

// guessable finds digits that run up or down, from 9 on to 0 too, and those
// that repeat one, two or three digits to the end.
func guessable(pin string) bool {
	up, down := true, true
	repeats := [4]bool{false, true, true, true}
	for i := 1; i < len(pin); i++ {
		step := (pin[i] - pin[i-1] + 10) % 10
		up, down = up && step == 1, down && step == 9
		for period := 1; period <= min(i, 3); period++ {
			repeats[period] = repeats[period] && pin[i] == pin[i-period]
		}
	}
	return up || down || repeats[1] || repeats[2] || repeats[3]
}

// SetPIN gives the person a PIN in place of any before. Only they themselves
// do, and the program; the caller has asked for their pass-phrase.
func SetPIN(ctx context.Context, tx pgx.Tx, by history.By, id int64, pin string) error {
	return setPIN(ctx, tx, by, id, pin, present)
}

func setPIN(ctx context.Context, tx pgx.Tx, by history.By, id int64, pin string, c cost) error {
	if by.Staff != 0 && by.Staff != id {
		return fault.Forbidden("People choose their own PIN.")
	}
	if says := PINRefusal(pin); says != "" {
		return fault.Field("pin", says)
	}
	hash, err := seal(ctx, plainPIN(pin), c)
	if err != nil {
		return fmt.Errorf("set PIN: %w", err)
	}
	tag, err := tx.Exec(ctx, "update staff set pin_hash = $2 where id = $1 and left_on is null", id, hash)
	if err == nil && tag.RowsAffected() == 0 {
		err = fault.NotFound("There is no such person here.")
	}
	if err != nil {
		return fmt.Errorf("set PIN: %w", err)
	}
	return tell(ctx, tx, by, id, "PIN set", nil)
}

// CheckPIN lets a person in by PIN on a tablet that is enrolled and not
// revoked; anywhere else no PIN is looked at. From the first wrong one on the
// next is refused for a growing time, and after mostPINMisses in a row, on
// whichever tablets, all are until the person signs in by pass-phrase. What is
// wrong is said under "who" or "pin".
//
// Like SignIn it writes in transactions of its own, and a try counts as a miss
// from before the PIN is looked at.
func CheckPIN(ctx context.Context, pool *pgxpool.Pool, device, person int64, pin, addr string, now time.Time) (Person, error) {
	var t pinTry
	err := db.Write(ctx, pool, func(tx pgx.Tx) (err error) {
		t, err = openPINTry(ctx, tx, device, person, pin, network(addr), now)
		return err
	})
	if err != nil {
		return Person{}, fmt.Errorf("check PIN: %w", err)
	}
	ok, err := t.hash.matches(ctx, plainPIN(pin))
	switch {
	case err != nil:
		return Person{}, fmt.Errorf("check PIN: %w", err)
	case !ok && t.last:
		return Person{}, fault.Field("pin", "That is not the PIN of "+t.person.Name+". "+phraseNow)
	case !ok:
		return Person{}, fault.Field("pin", "That is not the PIN of "+t.person.Name+".")
	}
	if err := succeed(ctx, pool, t.id); err != nil {
		return Person{}, fmt.Errorf("check PIN: %w", err)
	}
	return t.person, nil
}

const phraseNow = "Five wrong ones in a row: sign in with the pass-phrase now; after that the PIN is good again."

// pinTry is a try that has been filed as a miss.
type pinTry struct {
	id     int64
	person Person
	hash   sealed
	last   bool // of those that may be wrong
}

func openPINTry(ctx context.Context, tx pgx.Tx, device, person int64, pin, addr string, now time.Time) (t pinTry, err error) {
	if err := inUse(ctx, tx, device); err != nil {
		return t, err
	}
	if t.person, err = Get(ctx, tx, person); err != nil && !errors.As(err, new(fault.NotFound)) {
		return t, err
	}
	switch {
	case err != nil || t.person.LeftOn != nil:
		return t, fault.Field("who", "Choose who you are.")
	case !t.person.HasPIN:
		return t, fault.Field("pin", t.person.Name+" has no PIN yet: sign in with the pass-phrase and set one under your name.")
	case plainPIN(pin) == "":
		return t, fault.Field("pin", "Type the PIN.")
	}
	if err := inTurn(ctx, tx, t.person.Name, addr, now); err != nil {
		return t, err
	}
	if t.last, err = pinAllowed(ctx, tx, t.person.Name, addr, now); err != nil {
		return t, err
	}
	if t.hash, err = pinOf(ctx, tx, person); err != nil {
		return t, err
	}
	t.id, err = file(ctx, tx, t.person.Name, addr, device, now)
	return t, err
}

// inUse refuses a device that is no tablet of the shop, or no longer.
func inUse(ctx context.Context, tx pgx.Tx, device int64) error {
	d, err := GetDevice(ctx, tx, device)
	if errors.As(err, new(fault.NotFound)) || err == nil && d.RevokedAt != nil {
		return fault.Conflict("A PIN is good on an enrolled tablet alone, and this is none: sign in with the pass-phrase.")
	}
	return err
}

// pinAllowed refuses a try that comes too early or after too many wrong ones.
// last says that this one is the last that may be wrong.
func pinAllowed(ctx context.Context, tx pgx.Tx, name, addr string, now time.Time) (last bool, err error) {
	var (
		misses int
		missed time.Time
	)
	err = tx.QueryRow(ctx, `select count(*), coalesce(max(at), $2) from attempt
		where name_key = `+nameKey+` and device_id is not null and not ok`, name, now).Scan(&misses, &missed)
	if err != nil {
		return false, err
	}
	byAddr, err := addrLeft(ctx, tx, addr, now)
	if err != nil {
		return false, err
	}
	left := max(withPIN.left(misses, missed, now), byAddr)
	switch {
	case misses >= mostPINMisses:
		return false, fault.Field("pin", phraseNow)
	case left > 0:
		return false, fault.Field("pin", tooMany(left))
	}
	return misses+1 == mostPINMisses, nil
}

func pinOf(ctx context.Context, q db.Querier, id int64) (sealed, error) {
	var phc string
	if err := q.QueryRow(ctx, "select pin_hash from staff where id = $1", id).Scan(&phc); err != nil {
		return sealed{}, err
	}
	s, err := unseal(phc)
	if err != nil {
		return sealed{}, fmt.Errorf("PIN of person %d: %w", id, err)
	}
	return s, nil
}
