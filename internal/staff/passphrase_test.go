package staff

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// The first line is from the test programme of the Argon2 reference
// implementation (phc-winner-argon2, src/test.c, argon2id version 19). The
// second was made with its command-line tool, Debian argon2 0~20171227, at the
// cost used here.
func TestHashesOfTheReferenceImplementation(t *testing.T) {
	for _, c := range []struct{ passphrase, phc string }{
		{"password", "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"},
		{"correct horse", "$argon2id$v=19$m=65536,t=3,p=1$ZGFtcGVyZGVzay1zYWx0MQ$arD58x+omPqSJwF57dPcTyGyvNjjV9HD0HSgt1C11SQ"},
	} {
		s, err := unseal(c.phc)
		if err != nil {
			t.Fatalf("%s: %v", c.phc, err)
		}
		if ok, err := s.matches(context.Background(), c.passphrase); !ok || err != nil {
			t.Errorf("%q does not match %s: %v", c.passphrase, c.phc, err)
		}
		if ok, err := s.matches(context.Background(), c.passphrase+" "); ok || err != nil {
			t.Errorf("%q with a space matches %s: %v", c.passphrase, c.phc, err)
		}
	}
}

// The least of RFC 9106, section 4, where memory is short (its second
// recommended option): 64 MiB, 3 passes.
func TestCostIsNoLessThanRecommended(t *testing.T) {
	if standard.memory < 64*1024 || standard.passes < 3 || standard.lanes < 1 {
		t.Errorf("standard cost %+v", standard)
	}
	if costBefore != standard || nobody().cost != present {
		t.Errorf("a new hash costs %+v outside tests, want %+v; an unknown name costs %+v, a known one %+v", costBefore, standard, nobody().cost, present)
	}
}

// OWASP's cheat sheet on storing passwords, argon2id: 19 MiB and 2 passes at
// the least (from memory).
func TestWhatEverybodyIsToldTakesTheLeastThatIsAdvised(t *testing.T) {
	if toldBefore.memory < 19*1024 || toldBefore.passes < 2 || toldBefore.lanes < 1 {
		t.Errorf("told costs %+v", toldBefore)
	}
	ctx, tx := context.Background(), dbtest.Tx(t)
	told, present = cost{memory: 128, passes: 1, lanes: 1}, cost{memory: 64, passes: 2, lanes: 1}
	t.Cleanup(Thrifty)
	n := New{Name: "Odile", Roles: []string{"desk"}, Passphrase: words}
	id, err := AddTold(ctx, tx, dbtest.Act(t, tx, history.By{At: dbtest.Now}), n, pinHere)
	if err != nil {
		t.Fatal(err)
	}
	check := func(what string, hash sealed, err error, secret string, want cost) {
		t.Helper()
		if ok, wrong := hash.matches(ctx, secret); err != nil || wrong != nil || !ok || hash.cost != want {
			t.Errorf("%s: fits %v, costs %+v (%v, %v); want one that fits and costs %+v", what, ok, hash.cost, err, wrong, want)
		}
	}
	hash, err := hashOf(ctx, tx, id)
	check("pass-phrase", hash, err, words, told)
	hash, err = pinOf(ctx, tx, id)
	check("PIN", hash, err, pinHere, told)

	own := dbtest.Act(t, tx, history.By{At: dbtest.Now, Staff: id, Roles: n.Roles})
	if err := ResetPassphrase(ctx, tx, own, id, "a newt by the mill race"); err != nil {
		t.Fatal(err)
	}
	hash, err = hashOf(ctx, tx, id)
	check("one chosen later", hash, err, "a newt by the mill race", present)
	if _, err := AddTold(ctx, tx, dbtest.By(t, tx, Owner), New{Name: "Ines", Roles: n.Roles, Passphrase: words}, pinHere); !errors.As(err, new(fault.Forbidden)) {
		t.Errorf("by an owner: %v", err)
	}
}

func TestSaltsDiffer(t *testing.T) {
	cheap := cost{memory: 64, passes: 1, lanes: 1}
	a, errA := seal(context.Background(), words, cheap)
	b, errB := seal(context.Background(), words, cheap)
	if errA != nil || errB != nil || a == b {
		t.Errorf("the same passphrase twice: %s, %s (%v, %v)", a, b, errA, errB)
	}
}

func TestTheSameLetterTypedInTwoWaysMatches(t *testing.T) {
	phc, err := seal(context.Background(), "caf\u00e9 at the weir", cost{memory: 64, passes: 1, lanes: 1})
	if err != nil {
		t.Fatal(err)
	}
	s, err := unseal(phc)
	if err != nil {
		t.Fatal(err)
	}
	if ok, err := s.matches(context.Background(), "cafe\u0301 at the weir"); !ok || err != nil {
		t.Errorf("e with a combining accent does not match é: %v", err)
	}
}

func TestWhatIsNotAHash(t *testing.T) {
	good := "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"
	for _, bad := range []string{
		"", "none", good + "$", "x" + good,
		strings.Replace(good, "argon2id", "argon2i", 1),
		strings.Replace(good, "v=19", "v=16", 1),
		strings.Replace(good, "t=2", "t=0", 1),
		strings.Replace(good, "p=1", "p=0", 1),
		strings.Replace(good, "p=1", "p=300", 1),
		strings.Replace(good, "p=1", "p=1,x=2", 1),
		strings.Replace(good, "m=65536", "m=065536", 1),
		strings.Replace(good, "GRPPc", "", 1)[:60],
		strings.Replace(good, "GRPPc", "GRPP!", 1),
	} {
		if s, err := unseal(bad); err == nil {
			t.Errorf("%q was read as %+v", bad, s)
		}
	}
}

func TestPassphraseRules(t *testing.T) {
	for _, c := range []struct {
		passphrase, name string
		ok               bool
	}{
		{"ninechars", "Ines", false},
		{"tencharact", "Ines", true},
		{"éééééééééé", "Ines", true},
		{"e\u0301e\u0301e\u0301e\u0301e\u0301", "Ines", false}, // five letters
		{"INES  ALDOUS", "Ines Aldous", false},
		{"Ines Aldous!", "Ines Aldous", true},
		{strings.Repeat("a", 200), "Ines", true},
		{strings.Repeat("a", 201), "Ines", false},
	} {
		if says := passphraseRefusal(c.passphrase, c.name); (says == "") != c.ok {
			t.Errorf("%q for %s: %q, want ok %v", c.passphrase, c.name, says, c.ok)
		}
	}
}

func TestAHashWaitsItsTurnNoLongerThanItsCaller(t *testing.T) {
	if err := hashing.Acquire(context.Background(), 2); err != nil {
		t.Fatal(err)
	}
	defer hashing.Release(2)
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Millisecond)
	defer cancel()
	if _, err := seal(ctx, words, cost{memory: 64, passes: 1, lanes: 1}); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("a third hash while two are under way: %v", err)
	}
}

// What is stored with an act tells secrets apart, and is of no use to whoever
// has the database alone.
func TestAMarkTellsSecretsApartForOneActAndOneKey(t *testing.T) {
	act := uuid.New()
	mark := func(key string, act uuid.UUID, secret string) string {
		m, err := Mark(t.Context(), []byte(key), act, secret)
		if err != nil {
			t.Fatal(err)
		}
		return string(m)
	}
	first := mark("key of a server", act, "618240")
	for what, c := range map[string]struct {
		got  string
		same bool
	}{
		"the same again":     {mark("key of a server", act, "618240"), true},
		"another secret":     {mark("key of a server", act, "618241"), false},
		"another act":        {mark("key of a server", uuid.New(), "618240"), false},
		"another server key": {mark("key of another", act, "618240"), false},
	} {
		if (c.got == first) != c.same {
			t.Errorf("%s: equal is %v, want %v", what, c.got == first, c.same)
		}
	}
}
