package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
)

func (p *program) migrateUp(ctx context.Context) error {
	return p.migrate(ctx, db.Migrate)
}

func (p *program) migrateDown(ctx context.Context) error {
	if p.steps < 1 {
		return misuse{"migrate down: --steps is 1 or more"}
	}
	if err := p.wantDatabase(); err != nil {
		return err
	}
	return p.migrate(ctx, func(ctx context.Context, url string) error {
		return db.MigrateDown(ctx, url, p.steps)
	})
}

func (p *program) migrateStatus(ctx context.Context) error {
	if err := p.wantDatabase(); err != nil {
		return err
	}
	return p.migrate(ctx, func(context.Context, string) error { return nil })
}

// migrate does something to the schema and says how it stands then.
func (p *program) migrate(ctx context.Context, do func(ctx context.Context, url string) error) (err error) {
	d, err := joinDatabase(ctx, p.Config, p.quiet())
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, d.close(ctx)) }()
	if err := do(ctx, d.migrateURL); err != nil {
		return err
	}
	conn, err := pgx.Connect(ctx, d.migrateURL)
	if err != nil {
		return fmt.Errorf("open database: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	have, want, err := db.Versions(ctx, conn)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.out, "have schema %d, want %d\n", have, want)
	return err
}
