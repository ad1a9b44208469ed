package live_test

import (
	"context"
	"log/slog"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/intent"
	"damperdesk/internal/live"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

func TestStreamWakesAtCommitForItsSubjectOnly(t *testing.T) {
	pool := dbtest.Clone(t)
	ctx, stop := context.WithCancel(t.Context())
	hub := live.NewHub()
	mine := hub.Open(func(s string) bool { return s == "job:7" })
	other := hub.Open(func(s string) bool { return s == "job:8" })
	ended := make(chan struct{})
	go func() { hub.Run(ctx, pool, slog.New(slog.DiscardHandler)); close(ended) }()
	t.Cleanup(func() { stop(); <-ended })

	// Every stream is woken once when the connection comes up.
	for _, s := range []*live.Stream{mine, other} {
		waitFor(t, s)
	}
	a := intent.Act{ID: uuid.New(), Kind: "test", Fingerprint: []byte{1}, At: dbtest.Now}
	_, err := intent.Do(ctx, pool, a, func(tx pgx.Tx) (string, error) {
		by := history.By{At: dbtest.Now, Intent: a.ID}
		return "/", history.Append(ctx, tx, by, history.Event{SubjectKind: "step", SubjectID: 3, Job: 7, Kind: "test"})
	})
	if err != nil {
		t.Fatal(err)
	}
	waitFor(t, mine)
	select {
	case <-other.Changed():
		t.Error("a stream woke for a subject it does not show")
	case <-time.After(50 * time.Millisecond):
	}
}

func waitFor(t *testing.T, s *live.Stream) {
	t.Helper()
	select {
	case <-s.Changed():
	case <-time.After(5 * time.Second):
		t.Fatal("the stream was not woken within 5 s")
	}
}
