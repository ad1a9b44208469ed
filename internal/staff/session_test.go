package staff

import (
	"context"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
)

func TestSessionsAreKeptUntilTheyExpire(t *testing.T) {
	ctx, s := context.Background(), SessionStore{Pool: dbtest.Clone(t)}
	for token, data := range map[string]string{"a": "first", "b": "gone"} {
		if err := s.CommitCtx(ctx, token, []byte(data), time.Now().Add(time.Hour)); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.CommitCtx(ctx, "a", []byte("second"), time.Now().Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	if err := s.CommitCtx(ctx, "b", []byte("gone"), time.Now().Add(-time.Hour)); err != nil {
		t.Fatal(err)
	}
	if data, found, err := s.FindCtx(ctx, "a"); string(data) != "second" || !found || err != nil {
		t.Errorf("the newest data: %q, %v, %v", data, found, err)
	}
	for _, token := range []string{"b", "never"} {
		if data, found, err := s.FindCtx(ctx, token); data != nil || found || err != nil {
			t.Errorf("session %s: %q, %v, %v; want none", token, data, found, err)
		}
	}
	if err := db.Write(ctx, s.Pool, func(tx pgx.Tx) error { return PruneSessions(ctx, tx, time.Now()) }); err != nil {
		t.Fatal(err)
	}
	var left string
	if err := s.Pool.QueryRow(ctx, "select string_agg(token_hash, ' ') from session").Scan(&left); err != nil || left != "a" {
		t.Errorf("after pruning %q are left, %v", left, err)
	}
	for range 2 {
		if err := s.DeleteCtx(ctx, "a"); err != nil {
			t.Errorf("delete: %v", err)
		}
	}
	if _, found, err := s.FindCtx(ctx, "a"); found || err != nil {
		t.Errorf("after deleting: %v, %v", found, err)
	}
}

func TestTheSessionManagerKeepsOnlyHashedTokens(t *testing.T) {
	pool := dbtest.Clone(t)
	m := scs.New()
	m.Store, m.HashTokenInStore = SessionStore{Pool: pool}, true
	app := m.LoadAndSave(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/in" {
			m.Put(r.Context(), "staff", int64(7))
			return
		}
		if got := m.GetInt64(r.Context(), "staff"); got != 7 {
			t.Errorf("the session holds %d, want 7", got)
		}
	}))
	in := httptest.NewRecorder()
	app.ServeHTTP(in, httptest.NewRequest("GET", "/in", nil))
	cookies := in.Result().Cookies()
	if len(cookies) != 1 {
		t.Fatalf("cookies %v", cookies)
	}
	again := httptest.NewRequest("GET", "/", nil)
	again.AddCookie(cookies[0])
	app.ServeHTTP(httptest.NewRecorder(), again)
	var plain, all int
	err := pool.QueryRow(context.Background(), "select count(*) filter (where token_hash = $1), count(*) from session",
		cookies[0].Value).Scan(&plain, &all)
	if err != nil || plain != 0 || all != 1 {
		t.Errorf("%d of %d rows hold the cookie's token, %v", plain, all, err)
	}
}
