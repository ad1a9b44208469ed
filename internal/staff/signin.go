package staff

import (
	"context"
	"errors"
	"fmt"
	"net/netip"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
)

// patience is how many wrong tries are free, how long the wait after the last
// one may grow (1 s after the first that is not free, then twice as long each
// time), and how long a wrong try counts.
type patience struct {
	free   int
	most   time.Duration
	counts time.Duration
}

var (
	withName = patience{free: 3, most: 15 * time.Minute, counts: 24 * time.Hour}
	// withAddr is gentler, since a whole shop may share one address, and a
	// right passphrase does not reset it.
	withAddr = patience{free: 20, most: time.Minute, counts: time.Hour}
	// withPIN has no free try; after mostPINMisses a PIN is refused however long
	// somebody waits.
	withPIN = patience{most: time.Minute}
)

// wait is how long after the last of so many misses the next try is refused.
func (p patience) wait(misses int) time.Duration {
	if misses <= p.free {
		return 0
	}
	doublings := min(misses-p.free-1, 20)
	return min(time.Second<<doublings, p.most)
}

// left is what of the wait is still to come. A clock that was set back does
// not make it longer.
func (p patience) left(misses int, last, now time.Time) time.Duration {
	wait := p.wait(misses)
	return max(0, min(wait, last.Add(wait).Sub(now)))
}

// mismatch is the one answer to an unknown name, a wrong passphrase and
// somebody who has left.
func mismatch() error {
	return fault.Field("passphrase", "That name and pass-phrase do not go together.")
}

// SignIn checks name and passphrase. addr is an IP address, with or without a
// port. Too many wrong tries for the name or from the address are refused for
// a growing time, without looking at the passphrase.
//
// It writes in transactions of its own: a try counts as a miss from before
// the passphrase is looked at, so that many at once gain nothing.
func SignIn(ctx context.Context, pool *pgxpool.Pool, name, passphrase, addr string, now time.Time) (Person, error) {
	name = clean(name)
	if err := bothGiven(name, passphrase); err != nil {
		return Person{}, err
	}
	var try int64
	err := db.Write(ctx, pool, func(tx pgx.Tx) (err error) {
		try, err = openTry(ctx, tx, name, network(addr), now)
		return err
	})
	if err != nil {
		return Person{}, fmt.Errorf("sign in: %w", err)
	}
	person, err := admit(ctx, pool, name, passphrase)
	if err != nil {
		return Person{}, fmt.Errorf("sign in: %w", err)
	}
	if err := succeed(ctx, pool, try); err != nil {
		return Person{}, fmt.Errorf("sign in: %w", err)
	}
	return person, nil
}

// succeed notes that a try was right. Wrong PINs before it are forgotten; those
// filed since may be under way.
func succeed(ctx context.Context, q db.Querier, try int64) error {
	var id int64
	err := q.QueryRow(ctx, `with good as (update attempt set ok = true where id = $1 returning id, name_key),
			past as (delete from attempt a using good where a.name_key = good.name_key
				and a.device_id is not null and not a.ok and a.id < good.id)
		select id from good`, try).Scan(&id)
	return err
}

func bothGiven(name, passphrase string) error {
	fields := map[string]string{}
	if name == "" {
		fields["name"] = "Give your name."
	}
	if passphrase == "" {
		fields["passphrase"] = "Give your pass-phrase."
	}
	if len(fields) > 0 {
		return &fault.Invalid{Fields: fields}
	}
	return nil
}

// admit hashes once whatever it finds.
func admit(ctx context.Context, q db.Querier, name, passphrase string) (Person, error) {
	hash := nobody()
	person, err := ByName(ctx, q, name)
	known := err == nil && person.LeftOn == nil
	if err != nil && !errors.As(err, new(fault.NotFound)) {
		return Person{}, err
	}
	if known {
		if hash, err = hashOf(ctx, q, person.ID); err != nil {
			return Person{}, err
		}
	}
	ok, err := hash.matches(ctx, passphrase)
	if err != nil {
		return Person{}, err
	}
	if !ok || !known {
		return Person{}, mismatch()
	}
	return person, nil
}

func hashOf(ctx context.Context, q db.Querier, id int64) (sealed, error) {
	var phc string
	if err := q.QueryRow(ctx, "select passphrase_hash from staff where id = $1", id).Scan(&phc); err != nil {
		return sealed{}, err
	}
	s, err := unseal(phc)
	if err != nil {
		return sealed{}, fmt.Errorf("passphrase of person %d: %w", id, err)
	}
	return s, nil
}

// nameKey is what a try is filed under. It is hashed: people type passphrases
// into the field for the name. The database folds the case, as for the name.
const nameKey = "encode(sha256(convert_to(lower($1), 'UTF8')), 'hex')"

// openTry files a try as a miss and returns its id, or refuses it. Tries under
// one name, or from one address, pass here one after the other.
func openTry(ctx context.Context, tx pgx.Tx, name, addr string, now time.Time) (int64, error) {
	if err := inTurn(ctx, tx, name, addr, now); err != nil {
		return 0, err
	}
	left, err := waitLeft(ctx, tx, name, addr, now)
	if err != nil {
		return 0, err
	}
	if left > 0 {
		return 0, fault.Conflict(tooMany(left))
	}
	return file(ctx, tx, name, addr, 0, now)
}

// inTurn waits for other tries under the name or from the address, and forgets
// those that no longer count. Wrong PINs count until a right try.
func inTurn(ctx context.Context, tx pgx.Tx, name, addr string, now time.Time) error {
	for _, lock := range []string{"sign-in name " + name, "sign-in address " + addr} {
		if _, err := tx.Exec(ctx, "select pg_advisory_xact_lock(hashtextextended(lower($1), 0))", lock); err != nil {
			return err
		}
	}
	_, err := tx.Exec(ctx, "delete from attempt where at <= $1 and (device_id is null or ok)", now.Add(-withName.counts))
	return err
}

func tooMany(left time.Duration) string {
	return "Too many wrong tries. Wait " + inWords(left) + ", then try again."
}

// file files a try as a miss; without a device it is by pass-phrase.
func file(ctx context.Context, tx pgx.Tx, name, addr string, device int64, now time.Time) (id int64, err error) {
	err = tx.QueryRow(ctx, `insert into attempt (name_key, addr, device_id, ok, at)
		values (`+nameKey+`, $2, nullif($3, 0), false, $4) returning id`, name, addr, device, now).Scan(&id)
	return id, err
}

func waitLeft(ctx context.Context, tx pgx.Tx, name, addr string, now time.Time) (time.Duration, error) {
	var (
		nameMisses int
		nameLast   time.Time
	)
	err := tx.QueryRow(ctx, `select count(*), coalesce(max(at), $2) from attempt
		where name_key = `+nameKey+` and device_id is null and not ok and id > coalesce(
			(select max(id) from attempt where name_key = `+nameKey+` and device_id is null and ok), 0)`,
		name, now).Scan(&nameMisses, &nameLast)
	if err != nil {
		return 0, err
	}
	byAddr, err := addrLeft(ctx, tx, addr, now)
	return max(withName.left(nameMisses, nameLast, now), byAddr), err
}

// addrLeft is the wait that is left for an address, whatever was tried there.
func addrLeft(ctx context.Context, tx pgx.Tx, addr string, now time.Time) (time.Duration, error) {
	var (
		misses int
		last   time.Time
	)
	err := tx.QueryRow(ctx, "select count(*), coalesce(max(at), $2) from attempt where addr = $1 and not ok and at > $3",
		addr, now, now.Add(-withAddr.counts)).Scan(&misses, &last)
	return withAddr.left(misses, last, now), err
}

func forgetTries(ctx context.Context, tx pgx.Tx, name string) error {
	if _, err := tx.Exec(ctx, "delete from attempt where name_key = "+nameKey, name); err != nil {
		return fmt.Errorf("forget wrong tries: %w", err)
	}
	return nil
}

// network is what of an address one household or shop shares: the whole of an
// IPv4 address, the first 64 bits of an IPv6 one (RFC 6177). Anything else
// counts as one address.
func network(addr string) string {
	ip, err := netip.ParseAddr(addr)
	if err != nil {
		withPort, err := netip.ParseAddrPort(addr)
		if err != nil {
			return "unknown"
		}
		ip = withPort.Addr()
	}
	ip = ip.Unmap().WithZone("")
	if ip.Is4() {
		return ip.String()
	}
	prefix, err := ip.Prefix(64)
	if err != nil {
		return "unknown"
	}
	return prefix.String()
}

// inWords rounds up to whole seconds, from 90 s on to whole minutes.
func inWords(d time.Duration) string {
	n, unit := int((d+time.Second-1)/time.Second), "second"
	if n >= 90 {
		n, unit = (n+59)/60, "minute"
	}
	if n == 1 {
		return "1 " + unit
	}
	return fmt.Sprintf("%d %ss", n, unit)
}
