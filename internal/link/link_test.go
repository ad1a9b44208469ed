package link_test

import (
	"bytes"
	"context"
	"errors"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/link"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

var (
	ctx   = context.Background()
	key   = []byte("0123456789abcdef0123456789abcdef")
	month = dbtest.Now.AddDate(0, 1, 0)
)

func addVisit(t *testing.T, tx pgx.Tx) (id int64) {
	t.Helper()
	err := tx.QueryRow(ctx, `with c as (insert into customer (name, name_key) values ('Odette Marsh', 'odette marsh') returning id)
		insert into visit (customer_id, promised_at, came, goes_back, currency, opened_at)
		select id, $1, 'counter', 'pickup', 'GBP', $1 from c returning id`, dbtest.Now).Scan(&id)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func mustMake(t *testing.T, tx pgx.Tx, by history.By, key []byte, visit int64, expires time.Time) string {
	t.Helper()
	token, err := link.Make(ctx, tx, by, key, visit, expires)
	if err != nil {
		t.Fatal(err)
	}
	return token
}

func isGone(err error) bool {
	var gone fault.NotFound
	return errors.As(err, &gone)
}

func TestLinkOpensItsVisitUntilItExpires(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	visit, other := addVisit(t, tx), addVisit(t, tx)
	token, second := mustMake(t, tx, by, key, visit, month), mustMake(t, tx, by, key, other, month)
	if token == second || len(token) != 43 {
		t.Fatalf("tokens %q and %q: want two of 43 characters (RFC 4648: 32 bytes without padding)", token, second)
	}
	got, err := link.Open(ctx, tx, token, month.Add(-time.Second))
	if err != nil || got != visit {
		t.Errorf("Open just before the end = %d, %v; want %d", got, err, visit)
	}
	shown, ok, err := link.Show(ctx, tx, key, visit, dbtest.Now)
	if err != nil || !ok || shown != token {
		t.Errorf("Show = %q, %v, %v; want %q", shown, ok, err, token)
	}
	if _, err := link.Open(ctx, tx, token, month); !isGone(err) {
		t.Errorf("Open at the end: %v; want NotFound", err)
	}
	if _, ok, err := link.Show(ctx, tx, key, visit, month); ok || err != nil {
		t.Errorf("Show at the end: %v, %v; want none", ok, err)
	}
	for _, wrong := range []string{"", token[:42], token + "A", "visit link 1"} {
		if _, err := link.Open(ctx, tx, wrong, dbtest.Now); !isGone(err) {
			t.Errorf("Open(%q): %v; want NotFound", wrong, err)
		}
	}
}

func TestLinkIsKeptAndLengthened(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	visit := addVisit(t, tx)
	token := mustMake(t, tx, by, key, visit, month)
	later := month.AddDate(0, 1, 0)
	if again := mustMake(t, tx, by, key, visit, later); again != token {
		t.Errorf("a second Make gives another token")
	}
	mustMake(t, tx, by, key, visit, month) // shortens nothing
	if _, err := link.Open(ctx, tx, token, later.Add(-time.Second)); err != nil {
		t.Errorf("Open before the later end: %v", err)
	}
}

func TestRevokedLinkIsGoneAndTheNextIsAnother(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	visit := addVisit(t, tx)
	token := mustMake(t, tx, by, key, visit, month)
	if err := link.Revoke(ctx, tx, by, visit); err != nil {
		t.Fatal(err)
	}
	if _, err := link.Open(ctx, tx, token, dbtest.Now); !isGone(err) {
		t.Errorf("Open of a revoked link: %v; want NotFound", err)
	}
	if _, ok, err := link.Show(ctx, tx, key, visit, dbtest.Now); ok || err != nil {
		t.Errorf("Show of a revoked link: %v, %v; want none", ok, err)
	}
	var conflict fault.Conflict
	if err := link.Revoke(ctx, tx, by, visit); !errors.As(err, &conflict) {
		t.Errorf("Revoke twice: %v; want a Conflict", err)
	}
	if next := mustMake(t, tx, by, key, visit, month); next == token {
		t.Error("the link after a revoked one has the same token")
	}
}

func TestTokenIsNotInTheDatabase(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	visit := addVisit(t, tx)
	token := mustMake(t, tx, by, key, visit, month)
	var row, events string
	err := tx.QueryRow(ctx, `select (select string_agg(l::text, ' ') from link l where visit_id = $1),
		(select string_agg(e::text, ' ') from event e where subject_id = $1)`, visit).Scan(&row, &events)
	if err != nil || bytes.Contains([]byte(row+events), []byte(token)) {
		t.Errorf("the token stands in %q or %q, %v", row, events, err)
	}
}

func TestAnotherKeyShowsNothingAndMakesAnother(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	visit := addVisit(t, tx)
	token := mustMake(t, tx, by, key, visit, month)
	other := bytes.Repeat([]byte{7}, link.MinKey)
	if _, ok, err := link.Show(ctx, tx, other, visit, dbtest.Now); ok || err != nil {
		t.Errorf("Show under another key: %v, %v; want none", ok, err)
	}
	if mustMake(t, tx, by, other, visit, month) == token {
		t.Error("another key gives the same token")
	}
	if _, err := link.Open(ctx, tx, token, dbtest.Now); err != nil {
		t.Errorf("the link the customer has: %v; want it to work still", err)
	}
	if _, err := link.Make(ctx, tx, by, []byte("short"), visit, month); err == nil {
		t.Error("Make takes a short key")
	}
}

func TestLinkNeedsAVisitAndATimeAhead(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	if _, err := link.Make(ctx, tx, by, key, 1<<40, month); !isGone(err) {
		t.Errorf("Make for no visit: %v; want NotFound", err)
	}
	if err := link.Revoke(ctx, tx, by, 1<<40); !isGone(err) {
		t.Errorf("Revoke for no visit: %v; want NotFound", err)
	}
	var invalid *fault.Invalid
	if _, err := link.Make(ctx, tx, by, key, addVisit(t, tx), by.At); !errors.As(err, &invalid) {
		t.Errorf("Make that ends at once: %v; want Invalid", err)
	}
}
