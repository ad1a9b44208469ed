// Package live tells pages that something they show has changed. One
// connection of the server listens; any number of streams wait on it.
package live

import (
	"context"
	"log/slog"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
)

// Hub spreads the subjects that PostgreSQL announces at commit.
type Hub struct {
	mu      sync.Mutex
	streams map[*Stream]struct{}
}

// Stream is one waiting page.
type Stream struct {
	hub  *Hub
	want func(subject string) bool
	wake chan struct{}
}

// NewHub has no connection yet; Run brings it one.
func NewHub() *Hub { return &Hub{streams: map[*Stream]struct{}{}} }

// Open adds a stream for the subjects wanted, such as "job:12". Close it.
func (h *Hub) Open(want func(subject string) bool) *Stream {
	s := &Stream{hub: h, want: want, wake: make(chan struct{}, 1)}
	h.mu.Lock()
	defer h.mu.Unlock()
	h.streams[s] = struct{}{}
	return s
}

// Changed receives after each change, or several changes at once.
func (s *Stream) Changed() <-chan struct{} { return s.wake }

// Close takes the stream out of the hub.
func (s *Stream) Close() {
	s.hub.mu.Lock()
	defer s.hub.mu.Unlock()
	delete(s.hub.streams, s)
}

func (h *Hub) announce(wanted func(*Stream) bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for s := range h.streams {
		if !wanted(s) {
			continue
		}
		select {
		case s.wake <- struct{}{}:
		default: // already woken and not yet looked
		}
	}
}

// Run listens until ctx ends. A lost connection is opened again, and every
// stream is woken, since changes may have been missed meanwhile.
func (h *Hub) Run(ctx context.Context, pool *db.Pool, log *slog.Logger) {
	for ctx.Err() == nil {
		if err := h.listen(ctx, pool); err != nil && ctx.Err() == nil {
			log.Warn("live pages lost their connection", "error", err)
		}
		select {
		case <-ctx.Done():
		case <-time.After(time.Second):
		}
	}
}

func (h *Hub) listen(ctx context.Context, pool *db.Pool) error {
	conn, err := pgx.ConnectConfig(ctx, pool.Config().ConnConfig.Copy())
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	if _, err := conn.Exec(ctx, "listen live"); err != nil {
		return err
	}
	h.announce(func(*Stream) bool { return true })
	for {
		n, err := conn.WaitForNotification(ctx)
		if err != nil {
			return err
		}
		h.announce(func(s *Stream) bool { return s.want(n.Payload) })
	}
}
