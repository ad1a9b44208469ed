package link_test

import (
	"errors"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/link"
)

func addUnit(t *testing.T, tx pgx.Tx) (id int64) {
	t.Helper()
	err := tx.QueryRow(ctx, `with c as (insert into customer (name, name_key) values ('Odette Marsh', 'odette marsh') returning id)
		insert into unit (kind, customer_id, model_words) select 'fork', id, 'Tindra Lode' from c returning id`).Scan(&id)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func mustMakeBook(t *testing.T, tx pgx.Tx, by history.By, unit int64) string {
	t.Helper()
	token, err := link.MakeOfUnit(ctx, tx, by, key, unit)
	if err != nil {
		t.Fatal(err)
	}
	return token
}

func TestTheLinkOfAUnitOpensThatUnitAlone(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	unit, visit := addUnit(t, tx), addVisit(t, tx)
	book, page := mustMakeBook(t, tx, by, unit), mustMake(t, tx, by, key, visit, month)
	if len(book) != 43 {
		t.Errorf("the token %q has %d characters, want 43: 256 bits", book, len(book))
	}
	if got, err := link.OpenUnit(ctx, tx, book, dbtest.Now); err != nil || got != unit {
		t.Errorf("OpenUnit = %d, %v; want %d", got, err, unit)
	}
	if _, err := link.Open(ctx, tx, book, dbtest.Now); !errors.Is(err, link.ErrGone) {
		t.Errorf("a unit's token opens a visit: %v", err)
	}
	if _, err := link.OpenUnit(ctx, tx, page, dbtest.Now); !errors.Is(err, link.ErrGone) {
		t.Errorf("a visit's token opens a unit: %v", err)
	}
	if shown, ok, err := link.ShowOfUnit(ctx, tx, key, unit, dbtest.Now); !ok || shown != book || err != nil {
		t.Errorf("ShowOfUnit = %q, %v, %v", shown, ok, err)
	}
	if again := mustMakeBook(t, tx, by, unit); again != book {
		t.Error("a second press makes another address")
	}
	if err := link.RevokeOfUnit(ctx, tx, by, unit); err != nil {
		t.Fatal(err)
	}
	if _, err := link.OpenUnit(ctx, tx, book, dbtest.Now); !errors.Is(err, link.ErrGone) {
		t.Errorf("a revoked one opens: %v", err)
	}
	if err := link.RevokeOfUnit(ctx, tx, by, unit); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("revoked twice: %v; want a Conflict", err)
	}
	if next := mustMakeBook(t, tx, by, unit); next == book {
		t.Error("the next one has the same token")
	}
}

// Every visit brings a unit's link two years from that day, and nothing revives
// one that has ended.
func TestTheLinkOfAUnitLastsFromItsLastVisit(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	unit := addUnit(t, tx)
	book := mustMakeBook(t, tx, by, unit)
	opens := func(at time.Time, want bool) {
		t.Helper()
		if _, err := link.OpenUnit(ctx, tx, book, at); (err == nil) != want {
			t.Errorf("on %s it opens: %v, want %v", at.Format(time.DateOnly), err == nil, want)
		}
	}
	opens(by.At.AddDate(2, 0, 0).Add(-time.Second), true)
	opens(by.At.AddDate(2, 0, 0), false)
	later := dbtest.Act(t, tx, by)
	later.At = by.At.AddDate(1, 0, 0)
	if err := link.Lengthen(ctx, tx, later, unit); err != nil {
		t.Fatal(err)
	}
	opens(by.At.AddDate(3, 0, 0).Add(-time.Second), true)
	late := dbtest.Act(t, tx, by)
	late.At = by.At.AddDate(4, 0, 0)
	if err := link.Lengthen(ctx, tx, late, unit); err != nil {
		t.Fatal(err)
	}
	opens(late.At, false)
	if err := link.Lengthen(ctx, tx, late, addUnit(t, tx)); err != nil {
		t.Errorf("a unit without a link: %v", err)
	}
}

// oldToken is the HMAC-SHA256 of "visit link 4711" under the key, by Python's hmac
// module, in base64url (RFC 4648, section 5) without padding.
const oldToken = "SSrg4S0WoIowKT2R7U-Gk8TnoA5fwS7D5aEX_X39KX8"

// What was printed before units had links stays good.
func TestOldTokensStayValid(t *testing.T) {
	tx := dbtest.Tx(t)
	visit := addVisit(t, tx)
	_, err := tx.Exec(ctx, `insert into link (id, token_hash, purpose, visit_id, made_at, expires_at) overriding system value
		values (4711, sha256('`+oldToken+`'), 'visit', $1, $2, $3)`, visit, dbtest.Now, month)
	if err != nil {
		t.Fatal(err)
	}
	if shown, ok, err := link.Show(ctx, tx, key, visit, dbtest.Now); !ok || shown != oldToken || err != nil {
		t.Errorf("Show = %q, %v, %v; want %q", shown, ok, err, oldToken)
	}
	if got, err := link.Open(ctx, tx, oldToken, dbtest.Now); err != nil || got != visit {
		t.Errorf("Open = %d, %v; want %d", got, err, visit)
	}
}

func TestViewsAreCountedByDayAndForgottenAfterTwoYears(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	unit, visit := addUnit(t, tx), addVisit(t, tx)
	book, page := mustMakeBook(t, tx, by, unit), mustMake(t, tx, by, key, visit, month)
	today := dbtest.Now.Truncate(24 * time.Hour)
	for _, v := range []struct {
		token string
		day   time.Time
	}{{book, today}, {book, today}, {book, today.AddDate(0, 0, -1)}, {page, today}, {"nothing", today}} {
		if err := link.View(ctx, tx, v.token, v.day); err != nil {
			t.Fatal(err)
		}
	}
	got, err := link.ViewsOfUnit(ctx, tx, unit)
	if err != nil || len(got) != 2 || got[0].Count != 2 || !got[0].Day.Equal(today) || got[1].Count != 1 {
		t.Errorf("views of the unit %+v, %v; want 2 today and 1 the day before", got, err)
	}
	if got, err := link.Views(ctx, tx, visit); err != nil || len(got) != 1 || got[0].Count != 1 {
		t.Errorf("views of the visit %+v, %v; want 1 today", got, err)
	}
	if n, err := link.SweepViews(ctx, tx, today.AddDate(2, 0, 0)); err != nil || n != 1 {
		t.Errorf("swept %d, %v; want the day before alone", n, err)
	}
}
