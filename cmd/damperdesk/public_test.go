package main

import (
	"context"
	"io"
	"log/slog"
	"net"
	"net/http"
	"testing"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/picture"
	"damperdesk/internal/work"
	"damperdesk/web"
)

// Two listeners of one server: the shop's pages are on the first alone.
func TestTheListenerForCustomersServesNothingElse(t *testing.T) {
	pool := dbtest.Clone(t)
	folder, err := picture.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer folder.Close()
	var at listeners
	for _, l := range []*net.Listener{&at.shop, &at.public} {
		if *l, err = net.Listen("tcp", "127.0.0.1:0"); err != nil {
			t.Fatal(err)
		}
	}
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error)
	go func() {
		ended <- answer(ctx, at, pool, work.Post{}, web.Config{Pictures: folder, LinkKey: make([]byte, 32), Log: slog.New(slog.DiscardHandler)})
	}()
	for _, c := range []struct {
		l    net.Listener
		path string
		want int
	}{
		{at.shop, "/sign-in", http.StatusOK}, {at.shop, "/b/nothing", http.StatusNotFound},
		{at.public, "/healthz", http.StatusOK}, {at.public, "/b/nothing", http.StatusNotFound},
		{at.public, "/sign-in", http.StatusNotFound}, {at.public, "/readyz", http.StatusNotFound},
	} {
		answer, err := http.Get("http://" + c.l.Addr().String() + c.path)
		if err != nil {
			t.Fatal(err)
		}
		io.Copy(io.Discard, answer.Body)
		answer.Body.Close()
		if answer.StatusCode != c.want {
			t.Errorf("%s on the public one %v: status %d, want %d", c.path, c.l == at.public, answer.StatusCode, c.want)
		}
	}
	stop()
	if err := <-ended; err != nil {
		t.Error(err)
	}
}
