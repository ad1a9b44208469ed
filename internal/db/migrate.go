package db

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"
	"time"

	"github.com/golang-migrate/migrate/v4"
	migratepgx "github.com/golang-migrate/migrate/v4/database/pgx/v5"
	"github.com/golang-migrate/migrate/v4/source"
	"github.com/golang-migrate/migrate/v4/source/iofs"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"

	"damperdesk/migrations"
)

//go:embed words.sql
var wordsSQL string

//go:embed guard.sql
var guardSQL string

// migrationLock is the one advisory lock around migrations, River's too, and grants.
const migrationLock = 471100

// Migrate brings the schema and River's up to date and sets triggers and grants. Any
// number of processes may call it at once; a process killed half-way leaves
// nothing that the next call does not mend.
func Migrate(ctx context.Context, url string) error {
	return underLock(ctx, url, func(conn *pgx.Conn) error {
		if err := run(ctx, conn, (*migrate.Migrate).Up); err != nil {
			return err
		}
		if err := migrateRiver(ctx, conn); err != nil {
			return err
		}
		if _, err := conn.Exec(ctx, wordsSQL); err != nil {
			return fmt.Errorf("say whose words go where: %w", err)
		}
		if _, err := conn.Exec(ctx, guardSQL); err != nil {
			return fmt.Errorf("guard append-only tables: %w", err)
		}
		return nil
	})
}

// MigrateDown undoes the newest steps migrations of ours; River's stay.
func MigrateDown(ctx context.Context, url string, steps int) error {
	return underLock(ctx, url, func(conn *pgx.Conn) error {
		return run(ctx, conn, func(m *migrate.Migrate) error { return m.Steps(-steps) })
	})
}

// Versions says which schema version the database has and which the program
// brings.
func Versions(ctx context.Context, q Querier) (have, want int, err error) {
	names, err := fs.Glob(migrations.Files, "*.up.sql")
	if err != nil {
		return 0, 0, err
	}
	for _, name := range names {
		var v int
		if _, err := fmt.Sscanf(name, "%d_", &v); err != nil {
			return 0, 0, fmt.Errorf("migration %s: %w", name, err)
		}
		want = max(want, v)
	}
	var table *string
	if err := q.QueryRow(ctx, "select to_regclass('migration_mark')::text").Scan(&table); err != nil || table == nil {
		return 0, want, err
	}
	err = q.QueryRow(ctx, "select version from migration_mark").Scan(&have)
	return have, want, err
}

func underLock(ctx context.Context, url string, fn func(*pgx.Conn) error) error {
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return fmt.Errorf("open database to migrate: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	for {
		var got bool
		if err := conn.QueryRow(ctx, "select pg_try_advisory_lock($1)", migrationLock).Scan(&got); err != nil {
			return fmt.Errorf("lock for migrations: %w", err)
		}
		if got {
			return fn(conn)
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("another process holds the migration lock: %w", ctx.Err())
		case <-time.After(50 * time.Millisecond):
		}
	}
}

// run hands golang-migrate its own connection; conn holds our lock and sees to
// the mark.
func run(ctx context.Context, conn *pgx.Conn, step func(*migrate.Migrate) error) error {
	_, err := conn.Exec(ctx, `create table if not exists migration_mark (version bigint not null);
		insert into migration_mark select 0 where not exists (select from migration_mark)`)
	if err != nil {
		return fmt.Errorf("prepare migrations: %w", err)
	}
	m, closeAll, err := open(conn)
	if err != nil {
		return fmt.Errorf("prepare migrations: %w", err)
	}
	defer closeAll()
	if _, dirty, err := m.Version(); err == nil && dirty {
		var mark int
		if err := conn.QueryRow(ctx, "select version from migration_mark").Scan(&mark); err != nil {
			return fmt.Errorf("read migration mark: %w", err)
		}
		if mark == 0 {
			mark = -1 // golang-migrate's word for an empty database
		}
		if err := m.Force(mark); err != nil {
			return fmt.Errorf("clear a half-done migration: %w", err)
		}
	}
	if err := step(m); err != nil && !errors.Is(err, migrate.ErrNoChange) {
		return fmt.Errorf("migrate: %w", err)
	}
	return nil
}

func open(conn *pgx.Conn) (*migrate.Migrate, func(), error) {
	files, err := iofs.New(migrations.Files, ".")
	if err != nil {
		return nil, nil, err
	}
	sqlDB := stdlib.OpenDB(*conn.Config().Copy())
	driver, err := migratepgx.WithInstance(sqlDB, &migratepgx.Config{})
	if err != nil {
		sqlDB.Close()
		return nil, nil, err
	}
	m, err := migrate.NewWithInstance("iofs", marked{files}, "pgx5", driver)
	if err != nil {
		sqlDB.Close()
		return nil, nil, err
	}
	return m, func() { m.Close(); sqlDB.Close() }, nil
}

// marked appends to every file the statement that records it as run. A file of
// several statements is one implicit transaction, so file and mark are one.
type marked struct{ source.Driver }

func (s marked) ReadUp(version uint) (io.ReadCloser, string, error) {
	return mark(s.Driver.ReadUp, version, version)
}

func (s marked) ReadDown(version uint) (io.ReadCloser, string, error) {
	before, err := s.Driver.Prev(version)
	if err != nil {
		before = 0
	}
	return mark(s.Driver.ReadDown, version, before)
}

func mark(read func(uint) (io.ReadCloser, string, error), version, after uint) (io.ReadCloser, string, error) {
	file, name, err := read(version)
	if err != nil {
		return nil, "", err
	}
	defer file.Close()
	text, err := io.ReadAll(file)
	if err != nil {
		return nil, "", err
	}
	both := fmt.Sprintf("%s\n;update migration_mark set version = %d;\n", text, after)
	return io.NopCloser(strings.NewReader(both)), name, nil
}
