package db

import (
	"context"
	"errors"
	"fmt"
	"log/slog"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivermigrate"
)

// WorkSchema is where River keeps the jobs of the background. Its tables are
// River's own: made by its migrations, written by it alone.
const WorkSchema = "river"

// migrateRiver brings River's tables up to date. Each of its migrations is a
// transaction that keeps its own number, so that a kill leaves whole ones;
// two at once fail, hence under the caller's lock. What a newer program has
// migrated already stays.
func migrateRiver(ctx context.Context, conn *pgx.Conn) error {
	if err := ensureWorkSchema(ctx, conn); err != nil {
		return err
	}
	cfg, err := pgxpool.ParseConfig(conn.Config().ConnString())
	if err != nil {
		return fmt.Errorf("migrate background work: %w", err)
	}
	cfg.MaxConns = 1
	pool, err := pgxpool.NewWithConfig(ctx, cfg)
	if err != nil {
		return fmt.Errorf("migrate background work: %w", err)
	}
	defer pool.Close()
	migrator, err := rivermigrate.New(riverpgxv5.New(pool), &rivermigrate.Config{Schema: WorkSchema, Logger: slog.New(slog.DiscardHandler)})
	if err == nil {
		_, err = migrator.Migrate(ctx, rivermigrate.DirectionUp, nil)
	}
	if err != nil {
		return fmt.Errorf("migrate background work: %w", err)
	}
	return nil
}

// ensureWorkSchema makes the schema where there is none: a login without the
// right to make one may be given it by somebody else.
func ensureWorkSchema(ctx context.Context, conn *pgx.Conn) error {
	var (
		there bool
		me    string
	)
	err := conn.QueryRow(ctx, "select exists (select from pg_namespace where nspname = $1), quote_ident(current_user)", WorkSchema).Scan(&there, &me)
	if err == nil && !there {
		_, err = conn.Exec(ctx, "create schema "+WorkSchema)
	}
	var pg *pgconn.PgError
	if errors.As(err, &pg) && pg.Code == "42501" {
		return fmt.Errorf("background work needs a schema that this login may not make; let the database's owner run: create schema %s authorization %s: %w",
			WorkSchema, me, err)
	}
	if err != nil {
		return fmt.Errorf("make the schema of background work: %w", err)
	}
	return nil
}
