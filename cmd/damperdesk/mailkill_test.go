package main

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/cluster"
	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/mail/mailtest"
	"damperdesk/internal/message"
)

const (
	mailsWaiting   = 150
	mailKillRounds = 8
)

// The program is killed again and again while it sends: every message reaches
// the mail server once at most, and what did not, or may not have, is doubtful
// in the end. Leases are not waited for; the test lets their time pass.
func TestKilledWhileItSends(t *testing.T) {
	dir := dataFolder(t)
	t.Cleanup(func() { stopPostmaster(t, dir, 0) })
	whole := make(chan struct{}, mailsWaiting)
	server := mailtest.Start(t, mailtest.Settings{At: func(stage mailtest.Stage, _ string) error {
		time.Sleep(rand.N(4 * time.Millisecond))
		if stage == mailtest.Whole {
			select {
			case whole <- struct{}{}:
			default:
			}
		}
		return nil
	}})
	env := environ{"DAMPERDESK_DATA=" + dir, "DAMPERDESK_SMTP_HOST=127.0.0.1", fmt.Sprintf("DAMPERDESK_SMTP_PORT=%d", server.Port),
		"DAMPERDESK_SMTP_SECURITY=none", "DAMPERDESK_MAIL_FROM=desk@example.org"}
	start := func() running {
		r := launch(t, env, "serve")
		r.await(t)
		return r
	}
	r := start()
	serveURL, url, err := cluster.Running(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	openShop(t, serveURL, "Ines", "Marit")
	conn := connect(t, url)
	defer conn.Close(t.Context())
	r.end(t, syscall.SIGKILL)
	r = start()
	postTests(t, serveURL, mailsWaiting)
	r.end(t, syscall.SIGKILL)
	for round := range mailKillRounds {
		pass(t, conn)
		for len(whole) > 0 {
			<-whole
		}
		r = start()
		for range rand.IntN(10) {
			awaitMail(whole)
		}
		time.Sleep(rand.N(20 * time.Millisecond))
		if round%2 == 0 { // while the server has it whole and has not said so
			awaitMail(whole)
		}
		r.end(t, syscall.SIGKILL)
		wantNoCrash(t, r)
	}
	for range 2 { // what was left when the last one was killed, then what is in doubt
		pass(t, conn)
		r = start()
		for end := time.Now().Add(10 * time.Second); stirring(t, conn) && time.Now().Before(end); {
			time.Sleep(20 * time.Millisecond)
		}
		r.end(t, syscall.SIGKILL)
	}
	wantEachMailOnce(t, conn, server)
	r = start()
	out, err := environ{"DAMPERDESK_DATA=" + dir}.command("check").CombinedOutput()
	if err != nil || !strings.HasPrefix(string(out), "clean\n") {
		t.Errorf("check: %v, %s", err, out)
	}
	if code := r.end(t, syscall.SIGTERM); code != 0 {
		t.Errorf("after SIGTERM: code %d\n%s", code, r.errOut)
	}
}

func awaitMail(whole <-chan struct{}) {
	select {
	case <-whole:
	case <-time.After(3 * time.Second): // all are through
	}
}

// postTests puts test messages into the outbox, each to an address of its own.
func postTests(t *testing.T, serveURL string, many int) {
	t.Helper()
	pool, err := db.Open(t.Context(), serveURL)
	if err != nil {
		t.Fatal(err)
	}
	defer pool.Close()
	s := smallShop{t, pool, time.Now().UTC()}
	for n := range many {
		s.act(0, func(tx pgx.Tx, by history.By) error {
			by.Roles = []string{"owner"}
			_, err := message.PostTest(t.Context(), tx, by, fmt.Sprintf("rider%d@example.com", n))
			return err
		})
	}
}

// pass lets the time of every lease pass.
func pass(t *testing.T, conn *pgx.Conn) {
	t.Helper()
	if _, err := conn.Exec(t.Context(), "update message set leased_until = leased_until - interval '1 hour' where leased_until is not null"); err != nil {
		t.Fatal(err)
	}
}

// stirring reports whether a server still has something to do.
func stirring(t *testing.T, conn *pgx.Conn) (some bool) {
	t.Helper()
	err := conn.QueryRow(t.Context(), "select exists (select from message where state = 'waiting' or leased_until is not null)").Scan(&some)
	if err != nil {
		t.Fatal(err)
	}
	return some
}

func wantEachMailOnce(t *testing.T, conn *pgx.Conn, server *mailtest.Server) {
	t.Helper()
	received := map[string]int{}
	for _, m := range server.Received() {
		received[m.To]++
	}
	rows, err := conn.Query(t.Context(), "select mail, state from message where kind = 'test'")
	if err != nil {
		t.Fatal(err)
	}
	type row struct{ Mail, State string }
	list, err := pgx.CollectRows(rows, pgx.RowToStructByName[row])
	if err != nil || len(list) != mailsWaiting {
		t.Fatalf("%d messages are there, want %d; %v", len(list), mailsWaiting, err)
	}
	states, doubtfulReceived := map[string]int{}, 0
	for _, m := range list {
		states[m.State]++
		n := received[m.Mail]
		delete(received, m.Mail)
		if n > 1 || m.State != "sent" && m.State != "doubtful" || m.State == "sent" && n != 1 {
			t.Errorf("%s was received %d times and is %s", m.Mail, n, m.State)
		}
		if m.State == "doubtful" {
			doubtfulReceived += n
		}
	}
	t.Logf("%v; of the doubtful %d had been received", states, doubtfulReceived)
	if len(received) > 0 || states["doubtful"] == 0 {
		t.Errorf("received and not posted: %v; doubtful are %d, want some", received, states["doubtful"])
	}
}
