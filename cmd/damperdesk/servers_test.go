package main

import (
	"bufio"
	"context"
	"net/http"
	"net/url"
	"strings"
	"syscall"
	"testing"
	"time"

	"damperdesk/internal/db/dbtest"
)

// serverOf is a server on that database, with a data folder of its own.
func serverOf(t *testing.T, database string, env ...string) running {
	t.Helper()
	return launch(t, append(environ{"DATABASE_URL=" + database, "DAMPERDESK_DATA=" + t.TempDir()}, env...), "serve")
}

// Two servers behind one name: whatever one of them knows, the other knows.
func TestTwoServersOfOneShop(t *testing.T) {
	database := dbtest.EmptyURL(t)
	key := "DAMPERDESK_LINK_KEY=" + someKey
	one, two := serverOf(t, database, key), serverOf(t, database, key)
	one.await(t)
	two.await(t)
	wantInstalledOnce(t, database)
	wantSweptOnce(t, database)
	openShop(t, database, "Ines", "Marit")

	ines := signedIn(t, one, "Ines")
	ines.address = two.address
	if page, err := ines.get("/board"); err != nil || !strings.Contains(page.Find("header").Text(), "Ines") {
		t.Errorf("who signed in on one server is not known on the other: %v", err)
	}
	board := ines.listen(t, "/live?of=board")
	marit := signedIn(t, one, "Marit") // who starts a job
	board.want(t, "changed")

	ines.address = one.address
	link := ines.newLink(t)
	marit.address = two.address
	if shown := marit.linkShown(t); shown == "" || shown != link {
		t.Errorf("one server made the link %q, the other shows %q", link, shown)
	}
	if got := two.get(link); !strings.HasPrefix(got, "200 ") {
		t.Errorf("the other server does not open the link: %s", got)
	}

	one.end(t, syscall.SIGKILL)
	for _, m := range []*mechanic{ines, marit} {
		if err := m.pressOn(two.address, 5, nil); err != nil {
			t.Errorf("%s goes on at the server that is left: %v", m.name, err)
		}
	}
	board.want(t, "changed")
	if code := two.end(t, syscall.SIGTERM); code != 0 || strings.Contains(two.errOut.String(), "link key") {
		t.Errorf("after SIGTERM: code %d\n%s", code, two.errOut)
	}
	wantClean(t, environ{"DATABASE_URL=" + database})
}

// wantInstalledOnce looks for what two servers would each have brought along.
func wantInstalledOnce(t *testing.T, database string) {
	t.Helper()
	conn := connect(t, database)
	defer conn.Close(t.Context())
	var installed, blocks int
	err := conn.QueryRow(t.Context(), `select (select count(*) from event where kind = 'block installed'),
		(select count(*) from block)`).Scan(&installed, &blocks)
	if err != nil || blocks == 0 || installed != blocks {
		t.Errorf("%d blocks were installed %d times, %v", blocks, installed, err)
	}
}

// wantSweptOnce waits for the work of the day, which one of them does.
func wantSweptOnce(t *testing.T, database string) {
	t.Helper()
	conn := connect(t, database)
	defer conn.Close(t.Context())
	var done bool
	for end := time.Now().Add(20 * time.Second); !done && time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if err := conn.QueryRow(t.Context(), "select exists (select from river.river_job where state = 'completed' and kind = 'sweep')").Scan(&done); err != nil {
			t.Fatal(err)
		}
	}
	var jobs, days, swept int
	err := conn.QueryRow(t.Context(), `select count(*), count(distinct date_trunc('day', created_at at time zone 'UTC')),
		(select count(*) from intent where kind = 'work: sweep pictures') from river.river_job where kind = 'sweep'`).Scan(&jobs, &days, &swept)
	if err != nil || !done || jobs != days || swept != days {
		t.Errorf("on %d days %d sweeps were handed out and %d done, %v", days, jobs, swept, err)
	}
}

// newLink makes a link for the first visit and returns its path.
func (m *mechanic) newLink(t *testing.T) string {
	t.Helper()
	page, err := m.get("/visits/1")
	if err != nil {
		t.Fatal(err)
	}
	form := page.Find(`form[action$="/link"]`)
	if _, err := m.post(form.AttrOr("action", "none"), filled(form)); err != nil {
		t.Fatal(err)
	}
	return m.linkShown(t)
}

// linkShown is the path of the customer's page of the first visit, "" for none.
func (m *mechanic) linkShown(t *testing.T) string {
	t.Helper()
	page, err := m.get("/visits/1")
	if err != nil {
		t.Fatal(err)
	}
	address, err := url.Parse(page.Find(`.stub a[href*="/c/"]`).AttrOr("href", ""))
	if err != nil {
		t.Fatal(err)
	}
	return address.Path
}

// stream is what a live page of a browser hears.
type stream struct {
	lines chan string
}

func (m *mechanic) listen(t *testing.T, path string) stream {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	t.Cleanup(cancel)
	req, err := http.NewRequestWithContext(ctx, "GET", m.address+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	res, err := (&http.Client{Jar: m.client.Jar, Transport: m.client.Transport}).Do(req)
	if err != nil {
		t.Fatal(err)
	}
	s := stream{make(chan string)}
	go func() {
		defer res.Body.Close()
		defer close(s.lines)
		for lines := bufio.NewScanner(res.Body); lines.Scan(); {
			select {
			case s.lines <- lines.Text():
			case <-ctx.Done():
				return
			}
		}
	}()
	s.want(t, "here")
	return s
}

// want waits for that word, for longer than the other server needs.
func (s stream) want(t *testing.T, word string) {
	t.Helper()
	late := time.After(5 * time.Second)
	for {
		select {
		case line, open := <-s.lines:
			if line == "data: "+word {
				return
			}
			if !open {
				t.Fatalf("the stream ended before it said %q", word)
			}
		case <-late:
			t.Fatalf("the stream did not say %q within 5 s", word)
		}
	}
}

func TestServersWithDifferentLinkKeysAreTold(t *testing.T) {
	const warning = "this server's link key is not the shop's"
	database := dbtest.EmptyURL(t)
	served := func(env ...string) (log string) {
		r := serverOf(t, database, env...)
		r.await(t)
		r.end(t, syscall.SIGTERM)
		return r.errOut.String()
	}
	first := "DAMPERDESK_DATA=" + t.TempDir() // each makes a key in its folder
	second := "DAMPERDESK_DATA=" + t.TempDir()
	for _, c := range []struct {
		data string
		want bool
	}{{first, false}, {second, true}, {first, false}} {
		if log := served(c.data); strings.Contains(log, warning) != c.want {
			t.Errorf("%s: a warning is wanted: %v, the log is\n%s", c.data, c.want, log)
		}
	}
	out, err := environ{"DATABASE_URL=" + database, second}.command("link-key", "adopt").CombinedOutput()
	if err != nil || !strings.Contains(string(out), "is the shop's from now on") {
		t.Errorf("adopt: %v, %s", err, out)
	}
	if log := served(second); strings.Contains(log, warning) {
		t.Errorf("after it was adopted:\n%s", log)
	}
	if log := served(first); !strings.Contains(log, warning) {
		t.Errorf("the key before, after another was adopted:\n%s", log)
	}
	wantClean(t, environ{"DATABASE_URL=" + database})
}
