package main

import (
	"context"
	"log/slog"
	"net"
	"testing"
	"time"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/picture"
	"damperdesk/internal/work"
	"damperdesk/web"
)

func TestAServerForgetsExpiredSignIns(t *testing.T) {
	pool := dbtest.Clone(t)
	_, err := pool.Exec(t.Context(), `insert into session (token_hash, data, expires_at)
		values ('old', '', now() - interval '1 second'), ('good', '', now() + interval '1 hour')`)
	if err != nil {
		t.Fatal(err)
	}
	folder, err := picture.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer folder.Close()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error)
	go func() {
		ended <- answer(ctx, listeners{shop: l}, pool, work.Post{}, web.Config{Pictures: folder, LinkKey: make([]byte, 32), Log: slog.New(slog.DiscardHandler)})
	}()
	var left string
	for range 100 {
		if err := pool.QueryRow(t.Context(), "select string_agg(token_hash, ' ' order by token_hash) from session").Scan(&left); err != nil {
			t.Fatal(err)
		}
		if left == "good" {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	stop()
	if err := <-ended; err != nil || left != "good" {
		t.Errorf("sessions left: %q, want good; %v", left, err)
	}
}
