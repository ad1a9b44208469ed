package erase_test

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/erase"
	"damperdesk/internal/history"
)

// Whoever serves can blank nothing by other means than the one function, and the
// owner of the tables nothing but words, whatever they set.
func TestOnlyTheOneFunctionBlanksAndOnlyWords(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner", "mechanic", "desk")
	if err := history.Append(t.Context(), tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "test"}); err != nil {
		t.Fatal(err)
	}
	for _, sql := range []string{
		"insert into customer (name, name_key) values ('A', 'a')",
		"insert into unit (kind, customer_id, model_words) select 'fork', max(id), 'grey' from customer",
		"insert into visit (customer_id, promised_at, came, goes_back, currency, opened_at) select max(id), now(), 'counter', 'pickup', 'GBP', now() from customer",
		"insert into job (visit_id, unit_id, stage, opened_at) select (select max(id) from visit), (select max(id) from unit), 'in the queue', now()",
		"insert into finding (job_id, grade, cause, words, actor_id, intent_id, at) select max(id), 'note', 'found so', 'a scratch', " + fmt.Sprint(by.Staff) + ", '" + by.Intent.String() + "', now() from job",
		"select set_config('damperdesk.erasing', 'on', true)",
		"insert into elsewhere_service (unit_id, ref, day, shop, services, found, readings, settings, actor_id, intent_id, at) select max(id), 'feedbeef', '2024-05-01', 'x', '[{\"code\": \"a\", \"n\": 1}]', '[]', '[]', '[]', " + fmt.Sprint(by.Staff) + ", '" + by.Intent.String() + "', now() from unit",
	} {
		if _, err := tx.Exec(t.Context(), sql); err != nil {
			t.Fatalf("%s: %v", sql, err)
		}
	}
	refused := func(sql string) string {
		err := pgx.BeginFunc(t.Context(), tx, func(tx pgx.Tx) error {
			if _, err := tx.Exec(t.Context(), sql); err != nil {
				return err
			}
			return errors.New("done")
		})
		var pg *pgconn.PgError
		if errors.As(err, &pg) {
			return pg.Code
		}
		return err.Error()
	}
	if code := refused("update finding set words = 'erased'"); code != "42501" {
		t.Errorf("whoever serves blanks a finding: %s, want no permission", code)
	}
	if code := refused(fmt.Sprintf("select erase_customer((select max(id) from customer), %d, '%s', now())", by.Staff, by.Intent)); code != "23514" {
		t.Errorf("with an open job: %s, want a refusal", code)
	}
	if _, err := tx.Exec(t.Context(), "reset role"); err != nil {
		t.Fatal(err)
	}
	for sql, want := range map[string]string{
		"update finding set words = 'erased'":                                           "done", // what the function itself does
		"update finding set words = 'no scratch'":                                       "23001",
		"update finding set words = 'erased', grade = 'note'":                           "done", // the same grade
		"update finding set grade = 'needs doing'":                                      "23001",
		"update finding set words = 'erased', cause = 'erased'":                         "23001",
		`update elsewhere_service set services = '[{"code": "erased", "n": 1}]'`:        "done",
		`update elsewhere_service set services = '[{"code": "b", "n": 1}]'`:             "23001",
		`update elsewhere_service set services = '[{"code": "erased", "n": 2}]'`:        "23001",
		`update elsewhere_service set services = '[{"code": "erased", "n": "erased"}]'`: "23001",
		`update elsewhere_service set services = '[{"code": "a"}]'`:                     "23001",
		`update elsewhere_service set services = '[]'`:                                  "23001",
		`update elsewhere_service set found = '["erased"]'`:                             "23001",
		"delete from finding":              "23001",
		"update event set kind = 'erased'": "23001",
		"update event set detail = '{}'":   "done", // as it is
		"truncate finding cascade":         "23001",
	} {
		if code := refused(sql); code != want {
			t.Errorf("the owner, while erasing, %s: %s, want %s", sql, code, want)
		}
	}
	if _, err := tx.Exec(t.Context(), "select set_config('damperdesk.erasing', '', true)"); err != nil {
		t.Fatal(err)
	}
	if code := refused("update finding set words = 'erased'"); code != "23001" {
		t.Errorf("the owner, not erasing: %s, want the trigger's refusal", code)
	}
}

// A login that may make no roles, and so serves as the owner of its tables, with
// the triggers alone to guard them, erases like any other.
func TestErasingWhereTriggersAloneGuard(t *testing.T) {
	address := dbtest.EmptyURL(t)
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	admin, err := pgx.Connect(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	defer admin.Close(context.Background())
	name := strings.TrimPrefix(u.Path, "/")
	login := "plain_" + name
	for _, sql := range []string{
		"create role " + login + " login password 'plain' nosuperuser nocreatedb nocreaterole",
		"alter database " + name + " owner to " + login, "alter schema public owner to " + login,
	} {
		if _, err := admin.Exec(t.Context(), sql); err != nil {
			t.Fatalf("%s: %v", sql, err)
		}
	}
	t.Cleanup(func() {
		admin, err := pgx.Connect(context.Background(), address)
		if err != nil {
			return
		}
		defer admin.Close(context.Background())
		admin.Exec(context.Background(), "reassign owned by "+login+" to current_user; drop owned by "+login+"; drop role "+login)
	})
	with := u.Query()
	with.Set("role", login) // from the first statement on, whatever lets it in
	u.RawQuery = with.Encode()
	if err := db.Migrate(t.Context(), u.String()); err != nil {
		t.Fatal(err)
	}
	pool, err := db.Open(t.Context(), u.String())
	if err != nil {
		t.Fatal(err)
	}
	defer pool.Close()
	if role := ask[string](t, pool, "select current_user::text"); role != login {
		t.Fatalf("it serves as %s", role)
	}
	var id int64
	write(t, pool, func(tx pgx.Tx, by history.By) (err error) {
		id, err = customer.Add(t.Context(), tx, by, customer.Details{Name: theirName, Phone: theirPhone})
		return err
	})
	write(t, pool, func(tx pgx.Tx, by history.By) error { return erase.Customer(t.Context(), tx, by, id) })
	if text, _ := whole(t, pool); len(found(text)) > 0 {
		t.Errorf("left: %v", found(text))
	}
}
