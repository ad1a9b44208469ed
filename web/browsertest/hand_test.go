package browsertest_test

import (
	"context"
	"errors"
	"log/slog"
	"net/http/httptest"
	"os"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/demo"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/live"
	"damperdesk/internal/picture"
	"damperdesk/internal/procedure"
	"damperdesk/internal/staff"
	"damperdesk/web"
	"damperdesk/web/browsertest"
)

func TestMain(m *testing.M) {
	staff.Thrifty()
	dbtest.Main(m)
}

// desk is a running server with the invented shop in it.
type desk struct {
	address  string
	browser  *browsertest.Browser
	patterns []string // the addresses that answer GET
	late     *atomic.Int64
}

// pass lets time go by on the server.
func (d desk) pass(t time.Duration) { d.late.Add(int64(t)) }

// TestWalks drives one Chromium through everything, since starting it is slow.
func TestWalks(t *testing.T) {
	browser, err := browsertest.Start(context.Background())
	if errors.Is(err, browsertest.ErrNoBrowser) && os.Getenv("CI") == "" {
		t.Skip(err)
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(browser.Close)
	if _, err := axe(); err != nil && os.Getenv("CI") != "" {
		t.Fatal(err)
	} else if err != nil {
		t.Log("pages are not held against axe-core: ", err)
	}
	pool := installed(t)
	pictures := folder(t)
	if _, err := demo.Seed(t.Context(), pool, pictures, linkKey, time.Now()); err != nil {
		t.Fatal(err)
	}
	d := serve(t, browser, pool, pictures)
	t.Run("what is planted is found", func(t *testing.T) { plantedFaults(t, d) })
	t.Run("every page is accessible", func(t *testing.T) { accessible(t, d, stock{t, pool}) })
	t.Run("a calculator answers as it is typed in", func(t *testing.T) { calculated(t, d) })
	t.Run("the counter says what it comes to", func(t *testing.T) { estimated(t, d) })
	t.Run("the counter takes what is usual", func(t *testing.T) { taken(t, d) })
	t.Run("a mark is tapped on the drawing", func(t *testing.T) { marked(t, d) })
	t.Run("one more than the key", func(t *testing.T) { oneMore(t, d) })
	t.Run("on a tablet", func(t *testing.T) { onATablet(t, d) })
	t.Run("taps and numbers of a service", func(t *testing.T) { taps(t, d, stock{t, pool}) })
	t.Run("all that can happen at the bench", func(t *testing.T) { wholeBench(t, d, stock{t, pool}) })
	t.Run("a picture at the bench", func(t *testing.T) { pictured(t, d, stock{t, pool}) })
	t.Run("a picture is turned as Chromium turns it", func(t *testing.T) { turnedAlike(t, d) })
	t.Run("papers come out at their size", func(t *testing.T) { printedPapers(t, d, stock{t, pool}) })
	t.Run("a scanner", func(t *testing.T) { scanned(t, d, stock{t, pool}) })
	t.Run("a delivery by scanner", func(t *testing.T) { received(t, d, stock{t, pool}) })
	t.Run("a place is counted", func(t *testing.T) { countedShelf(t, d, stock{t, pool}) })
	t.Run("a half-filled form", func(t *testing.T) { halfFilled(t, d, stock{t, pool}) })
	t.Run("the whole job by keyboard", func(t *testing.T) { byKeyboard(t, d) })
	t.Run("the whole job without scripts", func(t *testing.T) { withoutScripts(t, d) })
	t.Run("a full board on the wall", func(t *testing.T) { onTheWall(t, d, stock{t, pool}) })
	t.Run("from an empty database to the first ready fork", func(t *testing.T) { firstRun(t, browser) })
}

var linkKey = []byte("a key of the tests, 32 bytes long")

// installed is a database with what the program brings, as serve makes it.
func installed(t *testing.T) *db.Pool {
	t.Helper()
	pool := dbtest.Clone(t)
	err := db.Write(t.Context(), pool, func(tx pgx.Tx) error {
		by := dbtest.Act(t, tx, history.By{At: time.Now()})
		return errors.Join(procedure.Install(t.Context(), tx, by), interval.Install(t.Context(), tx, by))
	})
	if err != nil {
		t.Fatal(err)
	}
	return pool
}

// folder is one for the pictures of a test.
func folder(t *testing.T) *picture.Folder {
	t.Helper()
	f, err := picture.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

func serve(t *testing.T, browser *browsertest.Browser, pool *db.Pool, pictures *picture.Folder) desk {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	log := slog.New(slog.NewTextHandler(t.Output(), &slog.HandlerOptions{Level: slog.LevelWarn}))
	hub := live.NewHub()
	ended := make(chan struct{})
	go func() { hub.Run(ctx, pool, log); close(ended) }()
	late := &atomic.Int64{} // how long after now it is there, in nanoseconds
	now := func() time.Time { return time.Now().Add(time.Duration(late.Load())) }
	handler := web.New(pool, hub, web.Config{Pictures: pictures, LinkKey: linkKey, Log: log, Now: now, Stopping: ctx})
	server := httptest.NewServer(handler)
	t.Cleanup(func() {
		stop()
		server.CloseClientConnections()
		server.Close()
		<-ended
	})
	return desk{server.URL, browser, patterns(t, handler), late}
}

// hand is a person at a device; every step that fails ends the test.
type hand struct {
	t *testing.T
	*browsertest.Tab
	desk desk
}

// stand lets the time of a wait go by, and comes back when it is up.
func (h hand) stand() {
	h.t.Helper()
	if !h.has(".spec [data-wait]:not([data-told])") {
		return
	}
	h.desk.pass(15 * time.Minute)
	h.goTo(h.path())
	h.reads(".spec [data-wait]", "time is up")
}

func (d desk) sit(t *testing.T, name string, width, height int) hand {
	t.Helper()
	tab, end, err := d.browser.Open(d.address, width, height)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(end)
	h := hand{t, tab, d}
	if name != "" {
		h.signIn(name, demo.Passphrase(name))
	}
	return h
}

func (h hand) signIn(name, passphrase string) {
	h.t.Helper()
	h.must(h.SignIn(name, passphrase), "sign in as "+name)
}

func (h hand) must(err error, doing string) {
	h.t.Helper()
	if err != nil {
		path, _ := h.Path()
		text, _ := h.Text("body")
		h.t.Fatalf("%s at %s: %v\n%s", doing, path, err, text)
	}
}

func (h hand) goTo(path string)      { h.t.Helper(); h.must(h.Go(path), "open "+path) }
func (h hand) press(selector string) { h.t.Helper(); h.must(h.Press(selector), "press "+selector) }

// click presses what leads to no other page.
func (h hand) click(selector string) {
	h.t.Helper()
	h.must(h.Do(chromedp.Click(chromedp.CSS(selector), chromedp.NodeVisible)), "click "+selector)
}
func (h hand) fill(selector, value string) {
	h.t.Helper()
	h.must(h.Fill(selector, value), "fill "+selector)
}
func (h hand) typeKeys(selector, s string) {
	h.t.Helper()
	h.must(h.Type(selector, s), "type into "+selector)
}
func (h hand) reads(selector, words string) { h.t.Helper(); h.wait(selector, words, 5*time.Second) }

// wait polls until the element's text holds the words.
func (h hand) wait(selector, words string, limit time.Duration) time.Duration {
	h.t.Helper()
	start := time.Now()
	for {
		text, err := browsertest.Eval[string](h.Tab, `(document.querySelector(`+quote(selector)+`)?.textContent ?? "").replace(/\s+/g, " ")`)
		if err == nil && strings.Contains(text, words) {
			return time.Since(start)
		}
		if time.Since(start) > limit {
			path, _ := h.Path()
			problem, _ := browsertest.Eval[string](h.Tab, `document.querySelector(".problem")?.textContent ?? ""`)
			h.t.Fatalf("%s at %s says %q after %v, want %q (%v) %s", selector, path, text, limit, words, err, problem)
		}
		time.Sleep(20 * time.Millisecond)
	}
}

func (h hand) path() string {
	h.t.Helper()
	path, err := h.Path()
	h.must(err, "where is the page")
	return path
}

func (h hand) has(selector string) bool {
	h.t.Helper()
	found, err := browsertest.Eval[bool](h.Tab, `document.querySelector(`+quote(selector)+`) !== null`)
	h.must(err, "look for "+selector)
	return found
}

func (h hand) link(selector string) string {
	h.t.Helper()
	href, err := browsertest.Eval[string](h.Tab, `document.querySelector(`+quote(selector)+`)?.getAttribute("href") ?? ""`)
	h.must(err, "read link "+selector)
	if href == "" {
		path, _ := h.Path()
		h.t.Fatalf("no link %s at %s", selector, path)
	}
	return href
}

// choose ticks a field that a label hides, as a finger on the label does.
func (h hand) choose(selector string) {
	h.t.Helper()
	done, err := browsertest.Eval[bool](h.Tab, `(e => { if (e && !e.checked) e.click(); return !!e?.checked })(document.querySelector(`+quote(selector)+`))`)
	h.must(err, "choose "+selector)
	if !done {
		h.t.Fatalf("cannot choose %s", selector)
	}
}

func quote(s string) string { return "`" + s + "`" }
