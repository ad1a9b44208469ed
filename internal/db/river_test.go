package db_test

import (
	"context"
	"net/url"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivermigrate"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
)

func riverMigrator(t *testing.T, url string) *rivermigrate.Migrator[pgx.Tx] {
	t.Helper()
	pool, err := pgxpool.New(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(pool.Close)
	m, err := rivermigrate.New(riverpgxv5.New(pool), &rivermigrate.Config{Schema: db.WorkSchema})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// wantRiver looks whether all of River's migrations are done.
func wantRiver(t *testing.T, url string) {
	t.Helper()
	m := riverMigrator(t, url)
	have, err := m.ExistingVersions(t.Context())
	if err != nil || len(have) != len(m.AllVersions()) || len(have) == 0 {
		t.Errorf("River has %d migrations, want %d; %v", len(have), len(m.AllVersions()), err)
	}
}

// A kill leaves the first so many of River's migrations.
func TestRiversMigrationsAreFinishedByTheNextStart(t *testing.T) {
	url := dbtest.EmptyURL(t)
	if err := db.Migrate(t.Context(), url); err != nil {
		t.Fatal(err)
	}
	m := riverMigrator(t, url)
	for _, v := range m.AllVersions() {
		left := v.Version - 1
		if left == 0 {
			left = -1 // River's word for none at all
		}
		if _, err := m.Migrate(t.Context(), rivermigrate.DirectionDown, &rivermigrate.MigrateOpts{TargetVersion: left}); err != nil {
			t.Fatal(err)
		}
		if err := db.Migrate(t.Context(), url); err != nil {
			t.Errorf("with %d of River's migrations done: %v", v.Version-1, err)
		}
		wantRiver(t, url)
	}
}

// The serving role may do what River's statements do, and no more.
func TestTheServingRoleWorksOnRiversTables(t *testing.T) {
	tx := dbtest.Tx(t)
	for _, allowed := range []string{
		"insert into river.river_job (kind, max_attempts, args) values ('test', 1, '{}')",
		"update river.river_job set attempt = 1",
		"delete from river.river_job",
		"insert into river.river_leader (elected_at, expires_at, leader_id) values (now(), now(), 'test')",
		"insert into river.river_queue (name) values ('test')",
		"select count(*) from river.river_migration",
	} {
		if err := refusedIn(tx, allowed); err != nil {
			t.Errorf("%s: %v", allowed, err)
		}
	}
	for _, refused := range []string{
		"delete from river.river_migration",
		"truncate river.river_job",
		"create table river.stray (id bigint)",
		"reindex index river.river_job_pkey",
	} {
		if err := refusedIn(tx, refused); err == nil || err.Code != "42501" {
			t.Errorf("%s: got %v, want no permission (42501)", refused, err)
		}
	}
}

// A login without the right to make schemas or roles is told what is missing,
// and goes on once it was given.
func TestALoginWithoutRightsIsToldWhoMakesTheSchema(t *testing.T) {
	address := dbtest.EmptyURL(t)
	admin := connect(t, address)
	var name string
	if err := admin.QueryRow(t.Context(), "select 'plain_' || current_database()").Scan(&name); err != nil {
		t.Fatal(err)
	}
	run := func(ctx context.Context, sql string) {
		if _, err := admin.Exec(ctx, sql); err != nil {
			t.Fatalf("%s: %v", sql, err)
		}
	}
	run(t.Context(), "create role "+name+"; grant all on schema public to "+name)
	t.Cleanup(func() { run(context.Background(), "drop owned by "+name+" cascade; drop role "+name) })

	plain := asRole(t, address, name)
	err := db.Migrate(t.Context(), plain)
	wanted := "create schema river authorization " + name
	if err == nil || !strings.Contains(err.Error(), wanted) {
		t.Fatalf("got %v, want %s", err, wanted)
	}
	run(t.Context(), wanted)
	if err := db.Migrate(t.Context(), plain); err != nil {
		t.Error(err)
	}
	wantRiver(t, plain)
}

// asRole is the address with every session under that role.
func asRole(t *testing.T, address, role string) string {
	t.Helper()
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	q := u.Query()
	q.Set("role", role)
	u.RawQuery = q.Encode()
	return u.String()
}
