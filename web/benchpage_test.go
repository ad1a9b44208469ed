package web

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/live"
)

// statements counts the statements that a pool sends, those around a transaction left
// out.
type statements struct {
	mu  sync.Mutex
	all []string
}

func (a *statements) TraceQueryStart(ctx context.Context, _ *pgx.Conn, data pgx.TraceQueryStartData) context.Context {
	if word, _, _ := strings.Cut(strings.TrimSpace(data.SQL), " "); !slices.Contains([]string{"begin", "commit", "rollback"}, word) {
		a.mu.Lock()
		a.all = append(a.all, strings.Join(strings.Fields(data.SQL), " "))
		a.mu.Unlock()
	}
	return ctx
}

func (a *statements) TraceQueryEnd(context.Context, *pgx.Conn, pgx.TraceQueryEndData) {}

// A batch goes to the database, and its answers come back, in one go.
func (a *statements) TraceBatchStart(ctx context.Context, _ *pgx.Conn, data pgx.TraceBatchStartData) context.Context {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.all = append(a.all, fmt.Sprintf("%d at once", data.Batch.Len()))
	return ctx
}

func (a *statements) TraceBatchQuery(context.Context, *pgx.Conn, pgx.TraceBatchQueryData) {}

func (a *statements) TraceBatchEnd(context.Context, *pgx.Conn, pgx.TraceBatchEndData) {}

func (a *statements) take() []string {
	a.mu.Lock()
	defer a.mu.Unlock()
	all := a.all
	a.all = nil
	return all
}

// traced serves the site's database once more, by a handler whose statements are
// counted.
func (s *site) traced() (http.Handler, *statements) {
	s.t.Helper()
	count := &statements{}
	cfg := s.pool.Config()
	cfg.ConnConfig.Tracer = count
	pool, err := pgxpool.NewWithConfig(context.Background(), cfg)
	if err != nil {
		s.t.Fatal(err)
	}
	s.t.Cleanup(pool.Close)
	return New(pool, live.NewHub(), Config{
		Pictures: s.pictures, LinkKey: linkKey, Version: "test", Log: slog.New(slog.NewTextHandler(s.log, nil)), Now: func() time.Time { return dbtest.Now },
	}), count
}

// longSheet is a sheet of 200 steps, each of its own signed steps among them.
func (c counter) longSheet() (b *browser, paths map[string]string) {
	c.t.Helper()
	j := c.benchJob()
	b = c.as(mechanic)
	foot, path := c.onBench(b, j, "Z7")
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		act := by()
		_, err := tx.Exec(ctx, `with more as (
				insert into sheet_step (job_id, rank, block, block_title, key, kind, title, text, grp, intent_id, at)
				select $1, 0.001 * n, 'A', 'Drop-off inspection', 'A' || 100 + n, 'check', 'Look at it, ' || n, 'It is right when it is whole.', 'A100', $2, $3
				from generate_series(1, 200 - (select count(*) from sheet_step where job_id = $1)) n returning id)
			insert into signoff (step_id, role, how, actor_id, intent_id, at) select id, 'done', 'seen', $4, $2, $3 from more`,
			j.ID, act.Intent, act.At, b.person.ID)
		return errors.Join(err, history.Append(ctx, tx, act, history.Event{SubjectKind: "job", SubjectID: j.ID, Job: j.ID, Kind: "work started"}))
	}, mechanic)
	bench := c.benchSheet(j)
	return b, map[string]string{
		"the whole sheet": benchPath(j.ID), "a torque": path,
		"lines signed together": stepPath(j.ID, bench.ByKey("V5").ID), "a signed step": stepPath(j.ID, bench.Steps[foot.Seq].ID),
	}
}

// A bench page asks the database at most eight times. How long the server takes
// is printed, not judged: 15 ms at most is the aim, on a machine that is idle.
func TestABenchPageOfTwoHundredSteps(t *testing.T) {
	c := server(t).counter()
	b, paths := c.longSheet()
	handler, count := c.traced()
	for name, path := range paths {
		if queries := b.timed(handler, count, name, path); len(queries) > 8 {
			t.Errorf("%s asks %d times, want at most 8:\n%s", name, len(queries), strings.Join(queries, "\n"))
		}
	}
}

// timed opens a page forty times, prints how long the server takes for it, and
// gives the statements of the last time.
func (b *browser) timed(handler http.Handler, count *statements, name, path string) (queries []string) {
	b.t.Helper()
	var took []time.Duration
	for range 40 {
		r := httptest.NewRequest(http.MethodGet, path, nil)
		r.AddCookie(&http.Cookie{Name: "desk", Value: b.token})
		w := httptest.NewRecorder()
		count.take()
		start := time.Now()
		handler.ServeHTTP(w, r)
		took = append(took, time.Since(start))
		if queries = count.take(); w.Code != http.StatusOK {
			b.t.Fatalf("%s: status %d", path, w.Code)
		}
	}
	slices.Sort(took)
	b.t.Logf("%s: %d queries, median %v, 95 %% within %v", name, len(queries), took[len(took)/2].Round(time.Microsecond), took[len(took)*95/100].Round(time.Microsecond))
	return queries
}
