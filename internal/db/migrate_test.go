package db_test

import (
	"context"
	"errors"
	"strings"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"damperdesk/internal/check"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

func TestEightStartsAtOnceMigrateOnce(t *testing.T) {
	url := dbtest.EmptyURL(t)
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			if err := db.Migrate(t.Context(), url); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	conn := connect(t, url)
	have, want, err := db.Versions(t.Context(), conn)
	if err != nil || have != want || want == 0 {
		t.Errorf("have schema %d, want %d, error %v", have, want, err)
	}
	wantRiver(t, url)
}

func TestHalfDoneMigrationIsMended(t *testing.T) {
	for _, c := range []struct{ name, sql string }{
		{"killed before the file ran", "update schema_migrations set version = 3, dirty = true; update migration_mark set version = 2"},
		{"killed after the file ran", "update schema_migrations set version = 2, dirty = true; update migration_mark set version = 2"},
	} {
		t.Run(c.name, func(t *testing.T) {
			url := dbtest.EmptyURL(t)
			if err := db.Migrate(t.Context(), url); err != nil {
				t.Fatal(err)
			}
			_, want, err := db.Versions(t.Context(), connect(t, url))
			if err != nil {
				t.Fatal(err)
			}
			if err := db.MigrateDown(t.Context(), url, want-2); err != nil {
				t.Fatal(err)
			}
			if _, err := connect(t, url).Exec(t.Context(), c.sql); err != nil {
				t.Fatal(err)
			}
			if err := db.Migrate(t.Context(), url); err != nil {
				t.Fatal(err)
			}
			found, err := check.Run(t.Context(), connect(t, url))
			if err != nil || len(found) > 0 {
				t.Errorf("check after mending: %v, error %v", found, err)
			}
		})
	}
}

func TestEveryMigrationCanBeUndone(t *testing.T) {
	url := dbtest.EmptyURL(t)
	if err := db.Migrate(t.Context(), url); err != nil {
		t.Fatal(err)
	}
	conn := connect(t, url)
	_, want, err := db.Versions(t.Context(), conn)
	if err != nil {
		t.Fatal(err)
	}
	if err := db.MigrateDown(t.Context(), url, want); err != nil {
		t.Fatal(err)
	}
	var left []string
	err = conn.QueryRow(t.Context(), `select coalesce(array_agg(relname::text), '{}') from pg_class
		where relnamespace = 'public'::regnamespace and relkind in ('r', 'S')
			and relname not in ('schema_migrations', 'migration_mark')`).Scan(&left)
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, error %v", left, err)
	}
	err = conn.QueryRow(t.Context(), `select coalesce(array_agg(proname::text), '{}') from pg_proc p where pronamespace = 'public'::regnamespace
		and not exists (select from pg_depend d where d.objid = p.oid and d.deptype = 'e')`).Scan(&left)
	if err != nil || len(left) > 0 {
		t.Errorf("functions left behind: %v, error %v", left, err)
	}
	if err := db.Migrate(t.Context(), url); err != nil {
		t.Errorf("up again: %v", err)
	}
}

// Each table that calls itself append-only must refuse by grant and, for a
// login that has the right, by trigger.
func TestAppendOnlyTablesRefuseChange(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	e := history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "test"}
	if err := history.Append(t.Context(), tx, by, e); err != nil {
		t.Fatal(err)
	}
	if _, err := tx.Exec(t.Context(), "set constraints all immediate"); err != nil {
		t.Fatal(err)
	}
	for _, change := range []string{"update event set kind = 'other'", "delete from event", "truncate event cascade", "insert into event_chain values (9, 9, '')"} {
		if err := refusedIn(tx, change); err == nil || err.Code != "42501" {
			t.Errorf("serving role, %s: got %v, want no permission (42501)", change, err)
		}
	}
	if _, err := tx.Exec(t.Context(), "reset role"); err != nil {
		t.Fatal(err)
	}
	for _, change := range []string{"update event set kind = 'other'", "delete from event", "truncate event cascade"} {
		if err := refusedIn(tx, change); err == nil || !strings.Contains(err.Message, "append-only") {
			t.Errorf("owner, %s: got %v, want the trigger's refusal", change, err)
		}
	}
}

// refusedIn tries sql inside a savepoint and returns the database's refusal.
func refusedIn(tx pgx.Tx, sql string) *pgconn.PgError {
	ctx := context.Background()
	err := pgx.BeginFunc(ctx, tx, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, sql)
		return err
	})
	var pg *pgconn.PgError
	errors.As(err, &pg)
	return pg
}

func connect(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(context.Background()) })
	return conn
}
