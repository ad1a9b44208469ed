package web

import (
	"bufio"
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/live"
)

// The server's limits on reading and writing are for pages.
func TestAStreamOutlivesTheLimitsOfPages(t *testing.T) {
	s := server(t)
	b := s.as(desk)
	const limit = 200 * time.Millisecond
	ctx, stop := context.WithCancel(context.Background())
	hub, ran := live.NewHub(), make(chan struct{})
	go func() { hub.Run(ctx, s.pool, slog.New(slog.DiscardHandler)); close(ran) }()
	srv := httptest.NewUnstartedServer(New(s.pool, hub, Config{
		LinkKey: linkKey, Log: slog.New(slog.DiscardHandler), Now: func() time.Time { return dbtest.Now }, Stopping: ctx,
	}))
	srv.Config.ReadTimeout, srv.Config.WriteTimeout = limit, limit
	srv.Start()
	t.Cleanup(func() { stop(); srv.Close(); <-ran })

	req, err := http.NewRequestWithContext(ctx, http.MethodGet, srv.URL+"/live?of=board", nil)
	if err != nil {
		t.Fatal(err)
	}
	req.AddCookie(&http.Cookie{Name: "desk", Value: b.token})
	answer, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	lines := make(chan string, 100)
	go func() {
		defer close(lines)
		for in := bufio.NewScanner(answer.Body); in.Scan(); {
			lines <- in.Text()
		}
	}()
	for past := time.After(3 * limit); past != nil; { // the hub's first look wakes the stream too
		select {
		case <-lines:
		case <-past:
			past = nil
		}
	}
	defer time.AfterFunc(10*time.Second, stop).Stop()
	s.write(func(tx pgx.Tx, by history.By) error {
		return history.Append(context.Background(), tx, by, history.Event{SubjectKind: "job", SubjectID: 1, Kind: "test"})
	})
	for line := range lines {
		if line == "data: changed" {
			return
		}
	}
	t.Errorf("the stream of %s ended before the change", answer.Status)
}
