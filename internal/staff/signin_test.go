package staff

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

func TestWaitsGrow(t *testing.T) {
	for _, c := range []struct {
		misses     int
		name, addr time.Duration
	}{
		{0, 0, 0}, {3, 0, 0}, {4, time.Second, 0}, {5, 2 * time.Second, 0}, {6, 4 * time.Second, 0},
		{13, 512 * time.Second, 0}, {14, 15 * time.Minute, 0},
		{20, 15 * time.Minute, 0}, {21, 15 * time.Minute, time.Second}, {26, 15 * time.Minute, 32 * time.Second},
		{27, 15 * time.Minute, time.Minute}, {100_000, 15 * time.Minute, time.Minute},
	} {
		if got := withName.wait(c.misses); got != c.name {
			t.Errorf("after %d misses of a name wait %s, want %s", c.misses, got, c.name)
		}
		if got := withAddr.wait(c.misses); got != c.addr {
			t.Errorf("after %d misses from an address wait %s, want %s", c.misses, got, c.addr)
		}
	}
}

func TestWaitsEnd(t *testing.T) {
	last := dbtest.Now
	for _, c := range []struct{ after, want time.Duration }{
		{0, 4 * time.Second}, {time.Second, 3 * time.Second}, {4 * time.Second, 0}, {time.Hour, 0},
		{-time.Hour, 4 * time.Second}, // the clock was set back
	} {
		if got := withName.left(6, last, last.Add(c.after)); got != c.want {
			t.Errorf("%s after the sixth miss %s are left, want %s", c.after, got, c.want)
		}
	}
}

func TestWaitsInWords(t *testing.T) {
	for d, want := range map[time.Duration]string{
		time.Millisecond: "1 second", time.Second: "1 second", 1001 * time.Millisecond: "2 seconds",
		89 * time.Second: "89 seconds", 90 * time.Second: "2 minutes", 121 * time.Second: "3 minutes",
		15 * time.Minute: "15 minutes",
	} {
		if got := inWords(d); got != want {
			t.Errorf("%s in words is %q, want %q", d, got, want)
		}
	}
}

// The addresses are of the blocks for documentation, RFC 5737 and RFC 3849.
func TestAddressesThatCountAsOne(t *testing.T) {
	for addr, want := range map[string]string{
		"192.0.2.7":              "192.0.2.7",
		"192.0.2.7:51000":        "192.0.2.7",
		"::ffff:192.0.2.7":       "192.0.2.7",
		"2001:db8:1:2:3:4:5:6":   "2001:db8:1:2::/64",
		"[2001:db8:1:2::9]:443":  "2001:db8:1:2::/64",
		"fe80::1%eth0":           "fe80::/64",
		"":                       "unknown",
		"a proxy's odd idea\x00": "unknown",
	} {
		if got := network(addr); got != want {
			t.Errorf("%q counts as %q, want %q", addr, got, want)
		}
	}
}

const here = "192.0.2.1"

func mustSignIn(t *testing.T, pool *pgxpool.Pool, name string, now time.Time) Person {
	t.Helper()
	p, err := SignIn(context.Background(), pool, name, words, here, now)
	if err != nil {
		t.Fatalf("sign in as %s at %s: %v", name, now, err)
	}
	return p
}

func wantMismatch(t *testing.T, pool *pgxpool.Pool, name, passphrase, addr string, now time.Time) {
	t.Helper()
	_, err := SignIn(context.Background(), pool, name, passphrase, addr, now)
	if !slices.Equal(refused(err), []string{"passphrase"}) {
		t.Fatalf("sign in as %s with %q: %v, want a mismatch", name, passphrase, err)
	}
}

func wantWait(t *testing.T, pool *pgxpool.Pool, name, addr, wait string, now time.Time) {
	t.Helper()
	_, err := SignIn(context.Background(), pool, name, words, addr, now)
	if !errors.As(err, new(fault.Conflict)) || !strings.Contains(err.Error(), "Wait "+wait+",") {
		t.Fatalf("sign in as %s: %v, want to wait %s", name, err, wait)
	}
}

func TestSignInWithNameAndPassphrase(t *testing.T) {
	pool := dbtest.Clone(t)
	id := put(t, pool, "Ines Aldous", "mechanic")
	if p := mustSignIn(t, pool, " ines  ALDOUS ", dbtest.Now); p.ID != id || !p.StillIn(1) {
		t.Errorf("signed in as %+v, want person %d", p, id)
	}
	wantMismatch(t, pool, "Ines Aldous", words+"!", here, dbtest.Now)
	wantMismatch(t, pool, "Nobody", words, here, dbtest.Now)
	_, err := SignIn(context.Background(), pool, " ", "", here, dbtest.Now)
	if !slices.Equal(refused(err), []string{"name", "passphrase"}) {
		t.Errorf("nothing typed: %v", err)
	}
}

func TestWrongTriesAreSlowedAndForgiven(t *testing.T) {
	pool, now := dbtest.Clone(t), dbtest.Now
	put(t, pool, "Ines", "mechanic")
	put(t, pool, "Marit", "desk")
	for range 4 {
		wantMismatch(t, pool, "Ines", "wrong", here, now)
	}
	wantWait(t, pool, "INES", "198.51.100.9", "1 second", now)
	mustSignIn(t, pool, "Marit", now) // another name is free
	now = now.Add(time.Second)
	wantMismatch(t, pool, "Ines", "wrong", here, now)
	wantWait(t, pool, "Ines", here, "2 seconds", now)
	wantWait(t, pool, "Ines", here, "1 second", now.Add(time.Second)) // a refused try does not lengthen the wait
	now = now.Add(2 * time.Second)
	mustSignIn(t, pool, "Ines", now)
	for range 4 {
		wantMismatch(t, pool, "Ines", "wrong", here, now) // a right one made the first three free again
	}
	wantWait(t, pool, "Ines", here, "1 second", now)
}

func TestAnUnknownNameIsSlowedLikeAKnownOne(t *testing.T) {
	pool := dbtest.Clone(t)
	for range 4 {
		wantMismatch(t, pool, "Nobody", "wrong", here, dbtest.Now)
	}
	wantWait(t, pool, "Nobody", here, "1 second", dbtest.Now)
}

func TestAnAddressIsSlowedAcrossNames(t *testing.T) {
	pool := dbtest.Clone(t)
	for i := range 21 {
		name := fmt.Sprint("Person ", i)
		put(t, pool, name, "desk")
		wantMismatch(t, pool, name, "wrong", "[2001:db8::1]:4000", dbtest.Now)
	}
	wantWait(t, pool, "Person 0", "[2001:db8::2]:4000", "1 second", dbtest.Now)
	mustSignIn(t, pool, "Person 0", dbtest.Now) // from another address
	if _, err := SignIn(context.Background(), pool, "Person 1", words, "[2001:db8::2]:4000", dbtest.Now.Add(time.Second)); err != nil {
		t.Errorf("after the wait: %v", err)
	}
}

func TestManyTriesAtOnceGainNothing(t *testing.T) {
	pool := dbtest.Clone(t)
	put(t, pool, "Ines", "mechanic")
	var (
		wg     sync.WaitGroup
		mu     sync.Mutex
		looked int
	)
	for range 12 {
		wg.Go(func() {
			_, err := SignIn(context.Background(), pool, "Ines", "wrong", here, dbtest.Now)
			if refused(err) != nil {
				mu.Lock()
				looked++
				mu.Unlock()
			} else if !errors.As(err, new(fault.Conflict)) {
				t.Errorf("a try among many: %v", err)
			}
		})
	}
	wg.Wait()
	if looked != 4 {
		t.Errorf("the passphrase was looked at %d times, want 4", looked)
	}
}

func TestTriesAreKeptADayAndNamesNotAtAll(t *testing.T) {
	ctx, pool := context.Background(), dbtest.Clone(t)
	put(t, pool, "Ines", "mechanic")
	wantMismatch(t, pool, "my secret passphrase", "wrong", here, dbtest.Now)
	var plain, kept int
	err := pool.QueryRow(ctx, "select count(*) filter (where name_key ~ '[^0-9a-f]'), count(*) from attempt").Scan(&plain, &kept)
	if err != nil || plain != 0 || kept != 1 {
		t.Errorf("%d of %d tries tell what was typed, %v", plain, kept, err)
	}
	mustSignIn(t, pool, "Ines", dbtest.Now.Add(24*time.Hour))
	if err := pool.QueryRow(ctx, "select count(*) from attempt").Scan(&kept); err != nil || kept != 1 {
		t.Errorf("a day later %d tries are kept, %v; want the newest alone", kept, err)
	}
}

func TestSignInAfterLeavingAndAfterANewPassphrase(t *testing.T) {
	ctx, pool := context.Background(), dbtest.Clone(t)
	id := put(t, pool, "Tobias", "mechanic")
	act := func(fn func(pgx.Tx, history.By) error) {
		t.Helper()
		err := pgx.BeginFunc(ctx, pool, func(tx pgx.Tx) error { return fn(tx, dbtest.By(t, tx, "owner")) })
		if err != nil {
			t.Fatal(err)
		}
	}
	act(func(tx pgx.Tx, by history.By) error { return Leave(ctx, tx, by, id, 1, dbtest.Now) })
	for range 4 {
		wantMismatch(t, pool, "Tobias", words, here, dbtest.Now)
	}
	act(func(tx pgx.Tx, by history.By) error { return Return(ctx, tx, by, id, 2) })
	wantWait(t, pool, "Tobias", here, "1 second", dbtest.Now)
	act(func(tx pgx.Tx, by history.By) error { return ResetPassphrase(ctx, tx, by, id, "another long phrase") })
	wantMismatch(t, pool, "Tobias", words, here, dbtest.Now)
	if _, err := SignIn(ctx, pool, "Tobias", "another long phrase", here, dbtest.Now); err != nil {
		t.Errorf("with the new passphrase: %v", err)
	}
}
