package link_test

import (
	"bytes"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/link"
)

func wantShops(t *testing.T, tx pgx.Tx, key []byte, want bool) {
	t.Helper()
	if got, err := link.IsShops(ctx, tx, key); err != nil || got != want {
		t.Errorf("the key %q is the shop's: %v, %v; want %v", key, got, err, want)
	}
}

func TestTheFirstKeyIsTheShopsUntilAnotherIsAdopted(t *testing.T) {
	tx := dbtest.Tx(t)
	other := bytes.Repeat([]byte{7}, link.MinKey)
	wantShops(t, tx, key, true)
	wantShops(t, tx, other, false)
	wantShops(t, tx, key, true)
	if err := link.Adopt(ctx, tx, dbtest.By(t, tx, "owner"), other); err != nil {
		t.Fatal(err)
	}
	wantShops(t, tx, other, true)
	wantShops(t, tx, key, false)
	if _, err := link.IsShops(ctx, tx, []byte("short")); err == nil {
		t.Error("a short key is compared")
	}
	if err := link.Adopt(ctx, tx, dbtest.By(t, tx, "owner"), []byte("short")); err == nil {
		t.Error("a short key is adopted")
	}
}
