package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"text/tabwriter"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
)

// config prints the settings and, where the database answers, how well it
// guards what must not change.
func (p *program) config(ctx context.Context) error {
	w := tabwriter.NewWriter(p.out, 0, 4, 3, ' ', 0)
	for _, s := range settings {
		value, origin := s.show(p.Config), cmp.Or(p.origin[s.name], "default")
		if value == "" {
			value = "-"
		}
		fmt.Fprintf(w, "%s\t%s\t%s\n", s.name, value, origin)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	_, err := fmt.Fprintln(p.out, "\n"+p.guarded(ctx))
	return err
}

// guarded is a sentence about the database.
func (p *program) guarded(ctx context.Context) string {
	d, err := runningDatabase(ctx, p.Config)
	if err != nil {
		return err.Error()
	}
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	role, may, err := rightsOf(ctx, d.serveURL)
	switch {
	case err != nil:
		return "The database does not answer: " + err.Error()
	case may:
		return fmt.Sprintf("The database answers. The login works as %s, which has the right to change append-only tables: triggers alone guard them. "+
			"A login with CREATEROLE, or a DAMPERDESK_MIGRATE_URL apart, lets roles guard them too.", role)
	}
	return fmt.Sprintf("The database answers. The login works as %s, which has no right to change append-only tables; triggers guard them too.", role)
}

// rightsOf says as which role the pool works and whether that role may change
// the append-only table of events.
func rightsOf(ctx context.Context, url string) (role string, may bool, err error) {
	pool, err := db.Open(ctx, url)
	if err != nil {
		return "", false, err
	}
	defer pool.Close()
	err = pool.QueryRow(ctx, `select current_user, coalesce(has_table_privilege(to_regclass('event'), 'update')
		or has_table_privilege(to_regclass('event'), 'delete') or has_table_privilege(to_regclass('event'), 'truncate'), false)`).Scan(&role, &may)
	if errors.Is(err, pgx.ErrNoRows) {
		return "", false, errors.New("it has no schema yet")
	}
	return role, may, err
}

// dbURL prints the address of a database that runs.
func (p *program) dbURL(ctx context.Context) error {
	d, err := runningDatabase(ctx, p.Config)
	if err != nil {
		return err
	}
	url := d.serveURL
	if p.owner {
		url = d.migrateURL
	}
	_, err = fmt.Fprintln(p.out, url)
	return err
}

// ready asks a server that listens as configured, for whoever watches over it.
func (p *program) ready(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, "GET", "http://"+reachable(p.Listen)+"/readyz", nil)
	if err != nil {
		return err
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		return fmt.Errorf("not ready: %w", err)
	}
	defer res.Body.Close()
	if res.StatusCode != http.StatusOK {
		return fmt.Errorf("not ready: the server answers %s", res.Status)
	}
	_, err = fmt.Fprintln(p.out, "ready")
	return err
}

// reachable turns "every address of this machine" into one.
func reachable(address string) string {
	host, port, err := net.SplitHostPort(address)
	if err != nil {
		return address
	}
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		host = "localhost"
	}
	return net.JoinHostPort(host, port)
}
