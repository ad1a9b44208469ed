package main

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/cluster"
)

const (
	killRounds  = 20
	lastPresses = 20 // of each mechanic once nothing is killed any more
	endless     = 1 << 20
)

// Two mechanics press on while the program, and in three of the rounds its
// database too, is killed under them. What was acknowledged is there, what was
// not is sent again, and nothing is there twice.
func TestKilledUnderThePressesOfTwoMechanics(t *testing.T) {
	dir := dataFolder(t)
	killed := 0
	t.Cleanup(func() { stopPostmaster(t, dir, killed) })
	r := startServer(t, dir, "serve")
	serveURL, url, err := cluster.Running(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	openShop(t, serveURL, "Ines", "Marit")
	mechanics := []*mechanic{signedIn(t, r, "Ines"), signedIn(t, r, "Marit")}
	for round := range killRounds {
		if round > 0 {
			r = startServer(t, dir, "serve")
		}
		markStored(t, url, mechanics)
		moment := 30*time.Millisecond + rand.N(270*time.Millisecond)
		sending, done := pressOn(mechanics, r.address)
		await(sending, done)
		time.Sleep(moment)
		if round%2 == 1 { // at a press
			await(sending, done)
			time.Sleep(rand.N(15 * time.Millisecond))
		}
		if round%7 == 3 {
			killed = postmasterOf(t, dir)
			if err := syscall.Kill(killed, syscall.SIGKILL); err != nil {
				t.Fatal(err)
			}
		}
		r.end(t, syscall.SIGKILL)
		<-done
		wantNoCrash(t, r)
		if t.Failed() || stopped(t, mechanics) {
			t.Fatalf("in round %d, after %v", round+1, moment)
		}
	}
	r = startServer(t, dir, "serve")
	markStored(t, url, mechanics)
	for _, m := range mechanics {
		if err := m.pressOn(r.address, lastPresses, nil); err != nil {
			t.Errorf("%s, at last: %v", m.name, err)
		}
	}
	wantEachOnce(t, url, mechanics)
	out, err := environ{"DAMPERDESK_DATA=" + dir}.command("check").CombinedOutput()
	if err != nil || !strings.HasPrefix(string(out), "clean\n") {
		t.Errorf("check: %v, %s", err, out)
	}
	if code := r.end(t, syscall.SIGTERM); code != 0 {
		t.Errorf("after SIGTERM: code %d\n%s", code, r.errOut)
	}
	wantNoCrash(t, r)
}

// postmasterOf is the process of the private PostgreSQL, 0 when none runs.
func postmasterOf(t *testing.T, dir string) int {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, "postgres", "postmaster.pid"))
	if os.IsNotExist(err) {
		return 0
	}
	first, _, _ := strings.Cut(string(text), "\n")
	pid, err := strconv.Atoi(first)
	if err != nil {
		t.Fatalf("postmaster.pid says %q: %v", text, err)
	}
	return pid
}

// stopPostmaster ends the database that a test broken off leaves without its
// program. One that was killed has left its number behind.
func stopPostmaster(t *testing.T, dir string, killed int) {
	pid := postmasterOf(t, dir)
	if pid == 0 || pid == killed || syscall.Kill(pid, syscall.SIGINT) != nil {
		return
	}
	for range 1000 {
		if postmasterOf(t, dir) == 0 {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Errorf("the postmaster %d does not end", pid)
}

// pressOn lets everybody press until the server is gone. Whoever receives from
// sending does so at a press.
func pressOn(mechanics []*mechanic, address string) (sending, done chan struct{}) {
	sending, done = make(chan struct{}), make(chan struct{})
	var pressing sync.WaitGroup
	for _, m := range mechanics {
		pressing.Go(func() { m.ended = m.pressOn(address, endless, sending) })
	}
	go func() { pressing.Wait(); close(done) }()
	return sending, done
}

func await(sending, done <-chan struct{}) {
	select {
	case <-sending:
	case <-done: // they came to no press
	}
}

// stopped tells of everybody who ended for another reason than a lost server.
func stopped(t *testing.T, mechanics []*mechanic) (any bool) {
	t.Helper()
	for _, m := range mechanics {
		if !lost(m.ended) {
			t.Errorf("%s ended with: %v", m.name, m.ended)
			any = true
		}
	}
	return any
}

func wantNoCrash(t *testing.T, r running) {
	t.Helper()
	for _, word := range []string{"DATA RACE", "panic"} {
		if strings.Contains(r.errOut.String(), word) {
			t.Errorf("the log tells of a %s:\n%s", word, r.errOut)
		}
	}
}

// markStored notes which presses were stored although nobody was told.
func markStored(t *testing.T, url string, mechanics []*mechanic) {
	t.Helper()
	conn := connect(t, url)
	defer conn.Close(t.Context())
	for _, m := range mechanics {
		if m.sent == nil {
			continue
		}
		m.sent.again = true
		err := conn.QueryRow(t.Context(), "select exists (select from intent where id = $1)", m.sent.intent()).Scan(&m.sent.stored)
		if err != nil {
			t.Fatal(err)
		}
	}
}

func connect(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	return conn
}

// wantEachOnce compares what was acknowledged with what is stored, both ways.
func wantEachOnce(t *testing.T, url string, mechanics []*mechanic) {
	t.Helper()
	conn := connect(t, url)
	defer conn.Close(t.Context())
	kinds := map[string]int{}
	again, stored, rows := 0, 0, 0
	seen := map[uuid.UUID]bool{}
	for _, m := range mechanics {
		for _, p := range m.acknowledged {
			rows += wantOnce(t, conn, p)
			kinds[p.kind()]++
			seen[p.intent()] = true
			if p.again {
				again++
			}
			if p.stored {
				stored++
			}
		}
	}
	t.Logf("%d presses acknowledged %v; %d of them sent again, of which %d had been stored", len(seen), kinds, again, stored)
	if kinds["sign"] == 0 || kinds["together"] == 0 || kinds["cross-out"] == 0 || again == 0 {
		t.Errorf("not every kind of press was made, or none was sent again")
	}
	var intents, written int
	err := conn.QueryRow(t.Context(), `with pressed as (select id from intent where kind like 'step: %')
		select (select count(*) from pressed), (select count(*) from signoff where intent_id in (table pressed))
			+ (select count(*) from cross_out where intent_id in (table pressed))`).Scan(&intents, &written)
	if err != nil || intents != len(seen) || written != rows {
		t.Errorf("stored %d presses with %d rows, acknowledged %d with %d; %v", intents, written, len(seen), rows, err)
	}
}

// wantOnce checks that a press led where it was told to and did all it was
// for, and returns how many rows that are. A crossing-out may take later
// sign-offs with it.
func wantOnce(t *testing.T, conn *pgx.Conn, p *press) int {
	t.Helper()
	var (
		answer        string
		signed, taken []int64
	)
	err := conn.QueryRow(t.Context(), `select coalesce(answer, ''),
			array(select step_id from signoff where intent_id = i.id order by step_id),
			array(select signoff_id from cross_out where intent_id = i.id order by signoff_id)
		from intent i where id = $1`, p.intent()).Scan(&answer, &signed, &taken)
	if err != nil || answer != p.led {
		t.Errorf("%s was told to go on at %q, stored is %q; %v", p, p.led, answer, err)
	}
	want := p.steps()
	if p.kind() == "cross-out" {
		want = nil
		if once := slices.Compact(slices.Clone(taken)); !slices.Contains(taken, p.signoff()) || len(once) != len(taken) {
			t.Errorf("%s crossed out the sign-offs %v", p, taken)
		}
	} else if len(taken) > 0 {
		t.Errorf("%s crossed out the sign-offs %v", p, taken)
	}
	if !slices.Equal(signed, want) {
		t.Errorf("%s signed the steps %v, want %v", p, signed, want)
	}
	return len(signed) + len(taken)
}

func (p *press) String() string { return fmt.Sprintf("the press %s on %s", p.intent(), p.path) }
