package intent_test

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/intent"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

func act(fingerprint string) intent.Act {
	return intent.Act{ID: uuid.New(), Kind: "test", Fingerprint: []byte(fingerprint), At: dbtest.Now}
}

func TestRepeatedActDoesItsWorkOnce(t *testing.T) {
	pool := dbtest.Clone(t)
	a := act("same")
	var worked atomic.Int32
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			to, err := intent.Do(t.Context(), pool, a, func(pgx.Tx) (string, error) {
				worked.Add(1)
				return "/there", nil
			})
			if err != nil || to != "/there" {
				t.Errorf("led to %q, error %v; want /there", to, err)
			}
		})
	}
	wg.Wait()
	if worked.Load() != 1 {
		t.Errorf("worked %d times, want once", worked.Load())
	}
}

func TestFailedActFreesItsIntent(t *testing.T) {
	pool := dbtest.Clone(t)
	a := act("same")
	broken := errors.New("broken")
	if _, err := intent.Do(t.Context(), pool, a, func(pgx.Tx) (string, error) { return "", broken }); !errors.Is(err, broken) {
		t.Fatalf("got %v, want the failure of the work", err)
	}
	if _, err := intent.Do(t.Context(), pool, a, func(pgx.Tx) (string, error) { return "/there", nil }); err != nil {
		t.Errorf("second try: %v", err)
	}
}

func TestOtherContentsUnderOneIntentAreRefused(t *testing.T) {
	pool := dbtest.Clone(t)
	a := act("first")
	nothing := func(pgx.Tx) (string, error) { return "/", nil }
	if _, err := intent.Do(context.Background(), pool, a, nothing); err != nil {
		t.Fatal(err)
	}
	a.Fingerprint = []byte("second")
	var conflict fault.Conflict
	if _, err := intent.Do(context.Background(), pool, a, nothing); !errors.As(err, &conflict) {
		t.Errorf("got %v, want a conflict", err)
	}
}

func TestFiledActIsDoneWithTheOneAroundIt(t *testing.T) {
	pool := dbtest.Clone(t)
	around, filed := act("around"), act("filed")
	work := func(tx pgx.Tx) (string, error) { return "/there", intent.File(t.Context(), tx, filed) }
	if _, err := intent.Do(t.Context(), pool, around, work); err != nil {
		t.Fatal(err)
	}
	never := func(pgx.Tx) (string, error) { return "/again", nil }
	if to, err := intent.Do(t.Context(), pool, filed, never); err != nil || to != "" {
		t.Errorf("claimed again it leads to %q, %v; want nowhere", to, err)
	}
	if _, err := intent.Do(t.Context(), pool, act("other"), work); err == nil {
		t.Error("it was filed twice")
	}
}
