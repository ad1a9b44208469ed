package web

import (
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/live"
)

// onOneConnection serves the site again, from a pool of one connection.
func (s *site) onOneConnection() *site {
	s.t.Helper()
	cfg := s.pool.Config().Copy()
	cfg.MaxConns = 1
	pool, err := pgxpool.NewWithConfig(context.Background(), cfg)
	if err != nil {
		s.t.Fatal(err)
	}
	narrow := *s
	narrow.pool = pool
	server := httptest.NewServer(New(pool, live.NewHub(), Config{
		LinkKey: linkKey, Log: slog.New(slog.NewTextHandler(s.log, nil)), Now: func() time.Time { return dbtest.Now },
		Advise: func(context.Context, pgx.Tx, int64) error { return nil },
	}))
	s.t.Cleanup(func() { server.Close(); pool.Close() })
	narrow.url = server.URL
	return &narrow
}

// A request that holds one connection and waits for another can wait for
// others that do the same.
func TestARequestNeedsOneConnection(t *testing.T) {
	s := server(t)
	s.employ("Ines", owner)
	narrow := s.onOneConnection()
	b := narrow.anybody()
	b.post("/sign-in", "name", "Ines", "passphrase", phrase).wantTo("/")
	b.post("/me/passphrase", "passphrase-now", phrase, "passphrase", "eight dry shocks in a crate",
		"passphrase-again", "eight dry shocks in a crate").wantTo("/me?done=passphrase")
	everybody := narrow.as(desk, mechanic, owner)
	for _, rt := range routes {
		if rt.pattern == "/live" || rt.pattern == "/sign-out" || rt.pattern == "/me/sign-out-everywhere" {
			continue
		}
		begin := time.Now()
		status := askedOf(everybody, rt)
		if took := time.Since(begin); status == http.StatusInternalServerError || took > pageTime/2 {
			t.Errorf("%s %s on one connection: status %d after %v", rt.method, rt.pattern, status, took)
		}
	}
}
