package web

import (
	"bytes"
	"context"
	"io"
	"log/slog"
	"maps"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5/pgxpool"

	"damperdesk/internal/bench"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/live"
)

// torqueForm is a foot bolt that is ready to be signed, and its form as filled
// in by hand.
func (c counter) torqueForm(b *browser) (step bench.Step, path string, fields url.Values) {
	c.t.Helper()
	step, path = c.onBench(b, c.benchJob(), "Z7")
	form := b.get(path).want(http.StatusOK).Find("main form").First()
	fields = new(hand).fill(form, "9")
	fields.Set("value-other", "7.4")
	return step, path, fields
}

// wantSignoffs counts what is stored for a step.
func (s *site) wantSignoffs(step bench.Step, want int) {
	s.t.Helper()
	var n int
	if err := s.pool.QueryRow(context.Background(), "select count(*) from signoff where step_id = $1", step.ID).Scan(&n); err != nil || n != want {
		s.t.Errorf("%d sign-offs of the step are stored, want %d; %v", n, want, err)
	}
}

func TestALockHeldTooLongIsToldAndTheInputKept(t *testing.T) {
	s := server(t)
	c, b := s.counter(), s.as(mechanic)
	step, path, fields := c.torqueForm(b)
	for _, lock := range []struct{ what, sql string }{
		{"the job", "select from job where id = (select job_id from sheet_step where id = $1) for update"},
		{"the same press, still under way", "insert into intent (id, kind, fingerprint, at) select $2::uuid, 'test', '', now() where $1::bigint > 0"},
		{"the seal of the history, at commit", "select pg_advisory_xact_lock(4711) where $1::bigint > 0"},
	} {
		ctx := context.Background()
		tx, err := s.pool.Begin(ctx)
		if err != nil {
			t.Fatal(err)
		}
		args := []any{step.ID, fields.Get("intent")}
		if _, err := tx.Exec(ctx, lock.sql, args[:strings.Count(lock.sql, "$")]...); err != nil {
			t.Fatalf("%s: %v", lock.what, err)
		}
		begin := time.Now()
		p := b.send(http.MethodPost, path+"/sign", fields)
		if took := time.Since(begin); p.status != http.StatusConflict || took > pageTime {
			t.Errorf("%s held: status %d after %v, want 409 within %v", lock.what, p.status, took, pageTime)
		}
		p.wantWords(".problem", "Somebody else is changing this just now; try again.")
		if got := p.value("value-other"); got != "7.4" {
			t.Errorf("%s held: what was typed came back as %q, want 7.4", lock.what, got)
		}
		if err := tx.Rollback(ctx); err != nil {
			t.Fatal(err)
		}
		s.wantSignoffs(step, 0)
	}
	b.send(http.MethodPost, path+"/sign", fields).want(http.StatusSeeOther)
	s.wantSignoffs(step, 1)
}

func TestOneIntentWithOtherContentsIsRefused(t *testing.T) {
	s := server(t)
	c, b := s.counter(), s.as(mechanic)
	step, path, fields := c.torqueForm(b)
	twin := b.send(http.MethodPost, path+"/sign", fields).want(http.StatusSeeOther).to
	b.send(http.MethodPost, path+"/sign", fields).wantTo(twin)
	const refusal = "This form was sent before with other contents"
	anothers := maps.Clone(fields)
	anothers.Del("as")
	s.as(mechanic).send(http.MethodPost, path+"/sign", anothers).want(http.StatusConflict).wantWords(".problem", refusal)
	fields.Set("value-other", "7.5")
	b.send(http.MethodPost, path+"/sign", fields).want(http.StatusConflict).wantWords(".problem", refusal)
	s.wantSignoffs(step, 1)

	p := b.send(http.MethodPost, twin+"/sign", fields).want(http.StatusConflict).wantWords(".problem", refusal)
	if got := p.value("value-other"); got != "7.5" {
		t.Errorf("what was typed came back as %q, want 7.5", got)
	}
	fields.Set("intent", p.intent(twin+"/sign"))
	b.send(http.MethodPost, twin+"/sign", fields).want(http.StatusSeeOther)
}

func TestAFormHoldsOneMebibyte(t *testing.T) {
	s := server(t)
	c, b := s.counter(), s.as(mechanic)
	_, path, _ := c.torqueForm(b)
	sheet := path[:strings.Index(path, "/steps/")]
	sized := func(size int) url.Values {
		form := url.Values{"intent": {uuid.NewString()}, "note": {"Dry inside."}, "x": {""}}
		form.Set("x", strings.Repeat("x", size-len(form.Encode())))
		return form
	}
	b.send(http.MethodPost, sheet+"/note", sized(1<<20)).wantTo(sheet)
	for _, who := range []*browser{b, s.anybody()} {
		for _, to := range []string{sheet + "/note", path + "/sign", "/sign-in"} {
			who.send(http.MethodPost, to, sized(1<<20+1)).want(http.StatusRequestEntityTooLarge).wantWords(".lead", "more than a form may hold")
		}
	}
}

// forgetful is a connection that ends in place of the answer to a commit, which
// has been done then, as long as there is something left to lose.
type forgetful struct {
	net.Conn
	left *atomic.Int64
	lose atomic.Bool
}

func (c *forgetful) Write(b []byte) (int, error) {
	if bytes.Contains(b, []byte("commit")) && c.left.Add(-1) >= 0 {
		c.lose.Store(true)
	}
	return c.Conn.Write(b)
}

func (c *forgetful) Read(b []byte) (int, error) {
	n, err := c.Conn.Read(b)
	if err == nil && c.lose.Load() {
		return 0, io.ErrUnexpectedEOF
	}
	return n, err
}

// forgetfulSite is the same shop behind connections that lose the answers to
// that many commits.
func (s *site) forgetfulSite(losses int64) *site {
	s.t.Helper()
	left := &atomic.Int64{}
	left.Store(losses)
	cfg := s.pool.Config()
	dial := cfg.ConnConfig.DialFunc
	cfg.ConnConfig.DialFunc = func(ctx context.Context, network, address string) (net.Conn, error) {
		conn, err := dial(ctx, network, address)
		return &forgetful{Conn: conn, left: left}, err
	}
	pool, err := pgxpool.NewWithConfig(context.Background(), cfg)
	if err != nil {
		s.t.Fatal(err)
	}
	web := httptest.NewServer(New(pool, live.NewHub(), Config{
		LinkKey: linkKey, Log: slog.New(slog.DiscardHandler), Now: func() time.Time { return dbtest.Now },
	}))
	s.t.Cleanup(func() { web.Close(); pool.Close() })
	return &site{t: s.t, pool: s.pool, url: web.URL}
}

func TestALostAnswerToACommitIsAskedForAgain(t *testing.T) {
	s := server(t)
	c, b := s.counter(), s.as(mechanic)
	step, path, fields := c.torqueForm(b)
	b.site = s.forgetfulSite(1)
	to := b.send(http.MethodPost, path+"/sign", fields).want(http.StatusSeeOther).to
	s.wantSignoffs(step, 1)
	b.send(http.MethodPost, path+"/sign", fields).wantTo(to)
	s.wantSignoffs(step, 1)
}

// Where it is lost a second time nobody can tell what became of the press, and
// so the page must not.
func TestAPressOfUnknownFateIsNotCalledUndone(t *testing.T) {
	s := server(t)
	c, b := s.counter(), s.as(mechanic)
	step, path, fields := c.torqueForm(b)
	b.site = s.forgetfulSite(2)
	lost := b.send(http.MethodPost, path+"/sign", fields).want(http.StatusInternalServerError).
		wantWords(".lead", "Something went wrong here. Send it again: what was stored already is not stored twice.")
	s.wantSignoffs(step, 1)
	if got := lost.value("intent"); got != fields.Get("intent") {
		t.Errorf("the page offers to send intent %q again, want %q", got, fields.Get("intent"))
	}
	b.send(http.MethodPost, path+"/sign", fields).want(http.StatusSeeOther)
	s.wantSignoffs(step, 1)
}
