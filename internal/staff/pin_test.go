package staff

import (
	"context"
	"errors"
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

// Six digits are the least of NIST SP 800-63B (from memory); that runs and
// repeats are the first to be tried is common practice (no source).
func TestWhichPINsAreTaken(t *testing.T) {
	for pin, taken := range map[string]bool{
		"482915": true, " 482915 ": true, "４８２９１５": true, "482915730264": true, "112233": true, "135790": true,
		"482914829": true, // four digits repeated
		"":          false, "48291": false, "4829157302641": false, "48291a": false, "48-2915": false, "-48291": false, "٤٨٢٩١٥": false,
		"777777": false, "123456": false, "654321": false, "890123": false, "210987": false,
		"474747": false, "4747474": false, "123123": false, "482482482": false, "4824824": false,
	} {
		if got := PINRefusal(pin); (got == "") != taken {
			t.Errorf("%q is answered %q, taken: want %v", pin, got, taken)
		}
	}
}

func TestWaitsAfterWrongPINs(t *testing.T) {
	for misses, want := range map[int]time.Duration{
		0: 0, 1: time.Second, 2: 2 * time.Second, 3: 4 * time.Second, 4: 8 * time.Second,
	} {
		if got := withPIN.wait(misses); got != want {
			t.Errorf("after %d wrong PINs wait %s, want %s", misses, got, want)
		}
	}
}

const pinHere = "482915"

// bench has Ines with a PIN and a tablet.
type bench struct {
	t            *testing.T
	pool         *pgxpool.Pool
	ines, tablet int64
	now          time.Time
}

func newBench(t *testing.T) *bench {
	t.Helper()
	b := &bench{t: t, pool: dbtest.Clone(t), now: dbtest.Now}
	b.ines = put(t, b.pool, "Ines", "mechanic")
	b.write(func(tx pgx.Tx, by history.By) error {
		b.tablet, _ = enrolled(t, tx, "bench one")
		return nil
	})
	b.setPIN(b.ines)
	return b
}

// write acts as an owner, in a committed transaction.
func (b *bench) write(fn func(pgx.Tx, history.By) error) {
	b.t.Helper()
	err := pgx.BeginFunc(context.Background(), b.pool, func(tx pgx.Tx) error { return fn(tx, dbtest.By(b.t, tx, Owner)) })
	if err != nil {
		b.t.Fatal(err)
	}
}

// setPIN gives somebody the PIN at next to no cost.
func (b *bench) setPIN(id int64) {
	b.t.Helper()
	hash, err := seal(context.Background(), pinHere, cost{memory: 64, passes: 1, lanes: 1})
	if err == nil {
		_, err = b.pool.Exec(context.Background(), "update staff set pin_hash = $2 where id = $1", id, hash)
	}
	if err != nil {
		b.t.Fatal(err)
	}
}

func (b *bench) try(pin string) error {
	_, err := CheckPIN(context.Background(), b.pool, b.tablet, b.ines, pin, here, b.now)
	return err
}

// want tries a PIN and looks for the sentence beside it.
func (b *bench) want(pin, sentence string) {
	b.t.Helper()
	err := b.try(pin)
	var invalid *fault.Invalid
	if !errors.As(err, &invalid) || !strings.Contains(invalid.Fields["pin"], sentence) {
		b.t.Errorf("PIN %s at %s: %v, want %q", pin, b.now.Format(time.TimeOnly), err, sentence)
	}
}

func (b *bench) wantIn(pin string) {
	b.t.Helper()
	if err := b.try(pin); err != nil {
		b.t.Errorf("PIN %s at %s: %v", pin, b.now.Format(time.TimeOnly), err)
	}
}

func TestAPINLetsItsPersonInOnATablet(t *testing.T) {
	b := newBench(t)
	p, err := CheckPIN(context.Background(), b.pool, b.tablet, b.ines, " "+pinHere, here, b.now)
	if err != nil || p.ID != b.ines || !p.HasPIN {
		t.Errorf("%+v, %v", p, err)
	}
	b.want("", "Type the PIN.")
	b.want("482916", "That is not the PIN of Ines.")
}

func TestAPINIsUselessWithoutATablet(t *testing.T) {
	b := newBench(t)
	b.write(func(tx pgx.Tx, by history.By) error { return Revoke(context.Background(), tx, by, b.tablet, 1) })
	for what, device := range map[string]int64{"no tablet": 0, "an unknown one": b.tablet + 1, "a revoked one": b.tablet} {
		_, err := CheckPIN(context.Background(), b.pool, device, b.ines, pinHere, here, b.now)
		if !errors.As(err, new(fault.Conflict)) {
			t.Errorf("%s: %v", what, err)
		}
	}
	var tries int
	if err := b.pool.QueryRow(context.Background(), "select count(*) from attempt").Scan(&tries); err != nil || tries != 0 {
		t.Errorf("%d tries were filed, %v", tries, err)
	}
}

func TestWrongPINsWaitLongerAndLonger(t *testing.T) {
	b := newBench(t)
	for _, wait := range []struct {
		seconds int
		words   string
	}{{1, "1 second"}, {2, "2 seconds"}, {4, "4 seconds"}, {8, "8 seconds"}} {
		b.want("000001", "That is not the PIN of Ines.")
		b.want(pinHere, "Wait "+wait.words+",")
		b.now = b.now.Add(time.Duration(wait.seconds) * time.Second)
	}
	b.wantIn(pinHere)
	b.want("000001", "That is not the PIN of Ines.") // the count began anew
	b.want(pinHere, "Wait 1 second,")
}

func TestAfterFiveWrongPINsThePassphraseIsNeeded(t *testing.T) {
	b := newBench(t)
	for range 4 {
		b.want("000001", "That is not the PIN of Ines.")
		b.now = b.now.Add(time.Minute)
	}
	b.want("000001", "sign in with the pass-phrase now")
	b.now = b.now.Add(48 * time.Hour) // no waiting helps, even where tries by pass-phrase are forgotten
	b.want(pinHere, "sign in with the pass-phrase now")
	wantMismatch(t, b.pool, "Ines", "wrong", here, b.now)
	b.want(pinHere, "sign in with the pass-phrase now")
	mustSignIn(t, b.pool, "Ines", b.now)
	b.wantIn(pinHere)
}

// One who guesses PINs does not keep Ines from signing in by pass-phrase, nor
// does her PIN give back tries at her pass-phrase.
func TestWrongPINsAndWrongPassphrasesCountApart(t *testing.T) {
	b := newBench(t)
	for range 5 {
		b.try("000001")
		b.now = b.now.Add(time.Minute)
	}
	mustSignIn(t, b.pool, "Ines", b.now)
	for range 4 {
		wantMismatch(t, b.pool, "Ines", "wrong", "198.51.100.9", b.now)
	}
	b.wantIn(pinHere)
	wantWait(t, b.pool, "Ines", "198.51.100.9", "1 second", b.now)
}

func TestManyPINsAtOnceGainNothing(t *testing.T) {
	b := newBench(t)
	var (
		wg     sync.WaitGroup
		mu     sync.Mutex
		looked int
	)
	for range 8 {
		wg.Go(func() {
			if err := b.try("000001"); strings.Contains(err.Error(), "That is not the PIN") {
				mu.Lock()
				looked++
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	if looked != 1 {
		t.Errorf("the PIN was looked at %d times, want once", looked)
	}
}

func TestWhoHasNoPIN(t *testing.T) {
	b := newBench(t)
	marit := put(t, b.pool, "Marit", "mechanic")
	try := func(id int64) error {
		_, err := CheckPIN(context.Background(), b.pool, b.tablet, id, pinHere, here, b.now)
		return err
	}
	if err := try(marit); !slices.Equal(refused(err), []string{"pin"}) || !strings.Contains(err.Error(), "Marit has no PIN yet") {
		t.Errorf("who never set one: %v", err)
	}
	if err := try(marit + 1000); !slices.Equal(refused(err), []string{"who"}) {
		t.Errorf("nobody: %v", err)
	}
	b.write(func(tx pgx.Tx, by history.By) error { return Leave(context.Background(), tx, by, b.ines, 1, b.now) })
	if err := try(b.ines); !slices.Equal(refused(err), []string{"who"}) {
		t.Errorf("who has left: %v", err)
	}
	b.write(func(tx pgx.Tx, by history.By) error { return Return(context.Background(), tx, by, b.ines, 2) })
	if err := try(b.ines); !slices.Equal(refused(err), []string{"pin"}) {
		t.Errorf("who came back: %v", err)
	}
}

func TestWhatBecomesOfThePINWithANewPassphrase(t *testing.T) {
	ctx := context.Background()
	for _, c := range []struct {
		who   string
		by    func(b *bench) history.By
		stays bool
	}{
		{"an owner", func(*bench) history.By { return history.By{Staff: 999, Roles: []string{Owner}} }, false},
		{"the program", func(*bench) history.By { return history.By{} }, false},
		{"the person", func(b *bench) history.By { return history.By{Staff: b.ines} }, true},
	} {
		b := newBench(t)
		b.write(func(tx pgx.Tx, by history.By) error {
			me := c.by(b)
			if me.Staff == 999 {
				me = by
			}
			me.At, me.Intent = by.At, by.Intent
			return ResetPassphrase(ctx, tx, me, b.ines, "another long phrase")
		})
		if p, err := Get(ctx, b.pool, b.ines); err != nil || p.HasPIN != c.stays {
			t.Errorf("after %s gave a new pass-phrase the PIN is there: %v, want %v (%v)", c.who, p.HasPIN, c.stays, err)
		}
	}
}

func TestPeopleChooseTheirOwnPIN(t *testing.T) {
	atFullCost(t)
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "mechanic")
	if err := SetPIN(ctx, tx, dbtest.By(t, tx, Owner), by.Staff, pinHere); !errors.As(err, new(fault.Forbidden)) {
		t.Errorf("by an owner: %v", err)
	}
	if err := SetPIN(ctx, tx, by, by.Staff, "123456"); !slices.Equal(refused(err), []string{"pin"}) {
		t.Errorf("an easy one: %v", err)
	}
	if err := SetPIN(ctx, tx, by, by.Staff, pinHere); err != nil {
		t.Fatal(err)
	}
	hash, err := pinOf(ctx, tx, by.Staff)
	if err != nil || hash.cost != standard {
		t.Errorf("hashed as %+v, %v; want the cost of a pass-phrase", hash.cost, err)
	}
	wantEvents(t, tx, by.Staff, "PIN set")
}
