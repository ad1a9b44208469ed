package staff

import (
	"context"
	"regexp"
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
)

// Crockford's base 32 (crockford.com/base32.html): the symbols leave out I, L,
// O and U; reading takes either case, hyphens, I and L for 1, O for 0.
var grouped = regexp.MustCompile(`^[0-9A-HJKMNP-TV-Z]{4}(-[0-9A-HJKMNP-TV-Z]{4}){3}$`)

func TestASetupCodeWorksOnce(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.Act(t, tx, history.By{At: dbtest.Now})
	void, err := NewSetupCode(ctx, tx, dbtest.Now)
	if err != nil {
		t.Fatal(err)
	}
	code, err := NewSetupCode(ctx, tx, dbtest.Now)
	if err != nil {
		t.Fatal(err)
	}
	if !grouped.MatchString(code) || code == void {
		t.Errorf("codes %q and %q", void, code)
	}
	for _, wrong := range []string{"", void, code[1:], code + "0"} {
		if err := UseSetupCode(ctx, tx, by, wrong); !slices.Equal(refused(err), []string{"code"}) {
			t.Errorf("code %q while %q stands: %v", wrong, code, err)
		}
	}
	misread := strings.NewReplacer("-", " ", "0", "o", "1", "l").Replace(strings.ToLower(code))
	if err := UseSetupCode(ctx, tx, by, misread); err != nil {
		t.Errorf("%q typed for %q: %v", misread, code, err)
	}
	if err := UseSetupCode(ctx, tx, by, code); !slices.Equal(refused(err), []string{"code"}) {
		t.Errorf("a second time: %v", err)
	}
	var kinds []string
	err = tx.QueryRow(ctx, "select array_agg(kind) from event where intent_id = $1", by.Intent).Scan(&kinds)
	if err != nil || !slices.Equal(kinds, []string{"setup code used"}) {
		t.Errorf("events %v, %v", kinds, err)
	}
}

func TestHowASetupCodeMayBeTyped(t *testing.T) {
	want := codeHash("0123456789ABCDEF")
	for _, typed := range []string{"0123-4567-89AB-CDEF", "o1234567 89abcdef", "Oi23-4567-89ab-cdef", " 0L23 4567 89AB CDEF "} {
		if codeHash(typed) != want {
			t.Errorf("%q is not read as 0123456789ABCDEF", typed)
		}
	}
	if codeHash("0123-4567-89AB-CDEG") == want {
		t.Error("another code is read as the same")
	}
}
