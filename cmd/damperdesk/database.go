package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"damperdesk/internal/cluster"
	"damperdesk/internal/db"
)

// database is where the data is: a server that is configured, or the private
// one in the data folder.
type database struct {
	serveURL   string
	migrateURL string
	private    *cluster.Cluster // nil: not ours to stop
}

// clusterTime is how long the private server gets to write and stop.
const clusterTime = 20 * time.Second

// openDatabase starts the private server unless another one is configured.
func openDatabase(ctx context.Context, c Config, log *slog.Logger) (database, error) {
	if c.DatabaseURL != "" {
		return configured(c), nil
	}
	private, err := cluster.Start(ctx, cluster.Options{Dir: c.Data, Log: log})
	if err != nil {
		return database{}, err
	}
	return database{private.ServeURL(), private.OwnerURL(), private}, nil
}

func configured(c Config) database {
	return database{serveURL: c.DatabaseURL, migrateURL: cmp.Or(c.MigrateURL, c.DatabaseURL)}
}

// joinDatabase is openDatabase for a command that may run beside the server:
// a private one that runs already is used as it is.
func joinDatabase(ctx context.Context, c Config, log *slog.Logger) (database, error) {
	d, err := openDatabase(ctx, c, log)
	if errors.Is(err, cluster.ErrLocked) {
		return runningDatabase(ctx, c)
	}
	return d, err
}

// runningDatabase starts nothing.
func runningDatabase(ctx context.Context, c Config) (database, error) {
	if c.DatabaseURL != "" {
		return configured(c), nil
	}
	serveURL, ownerURL, err := cluster.Running(ctx, c.Data)
	return database{serveURL: serveURL, migrateURL: ownerURL}, err
}

// close stops the private server. It does its work also when ctx has ended.
func (d database) close(ctx context.Context) error {
	if d.private == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), clusterTime)
	defer cancel()
	return d.private.Stop(ctx)
}

// wantDatabase refuses where there is none, for commands that make none.
func (p *program) wantDatabase() error {
	if p.DatabaseURL != "" {
		return nil
	}
	there, err := cluster.There(p.Data)
	if err == nil && !there {
		err = fmt.Errorf("there is no database in the data folder %s; the first damperdesk serve makes it", p.Data)
	}
	return err
}

// withPool does a short piece of work on the data, whether a server runs or
// not. The schema must be that of this program.
func (p *program) withPool(ctx context.Context, do func(*db.Pool) error) (err error) {
	if err := p.wantDatabase(); err != nil {
		return err
	}
	d, err := joinDatabase(ctx, p.Config, p.quiet())
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, d.close(ctx)) }()
	pool, err := db.Open(ctx, d.serveURL)
	if err != nil {
		return err
	}
	defer pool.Close()
	have, want, err := db.Versions(ctx, pool)
	if err != nil {
		return err
	}
	if have != want {
		return fmt.Errorf("the database has schema %d, this program needs %d; see to it with: damperdesk migrate up", have, want)
	}
	return do(pool)
}

// quiet is the log of short commands: what goes wrong, not what goes on.
func (p *program) quiet() *slog.Logger {
	return slog.New(leastWarn{p.log.Handler()})
}

// leastWarn passes warnings and errors on.
type leastWarn struct{ slog.Handler }

func (h leastWarn) Enabled(ctx context.Context, l slog.Level) bool {
	return l >= slog.LevelWarn && h.Handler.Enabled(ctx, l)
}
