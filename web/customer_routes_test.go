package web

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/link"
	"damperdesk/internal/live"
	"damperdesk/internal/message"
	"damperdesk/internal/picture"
	"damperdesk/internal/shop"
)

// linked is a visit whose fork is ready, with whatever its customer has an address
// of.
type linked struct {
	counter
	job                    job.Job
	visit, book, mail, pic string // their pages, and the picture they may see
}

// newLinked has a fork that was serviced from start to ready.
func newLinked(t *testing.T) linked {
	t.Helper()
	s := server(t)
	c := linked{counter: s.counter()}
	s.openAllDay()
	s.write(func(tx pgx.Tx, by history.By) error { return interval.Install(context.Background(), tx, by) })
	s.writeAddress("a,b;c\\d\ne:f\"g")
	c.job = c.benchJob()
	s.fromStartToReady(c.job)
	c.visit = c.address(c.job)
	c.pic = c.visit + "/pictures/" + fmt.Sprint(c.give(c.job, 320))
	_, ids := s.posted(message.Ready)
	c.mail = "/m/" + message.Token(linkKey, ids[0], message.Ready)
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		token, err := link.MakeOfUnit(ctx, tx, by(), linkKey, c.job.UnitID)
		c.book = "/b/" + token
		return err
	}, desk)
	return c
}

// writeAddress gives the shop an address.
func (s *site) writeAddress(address string) {
	s.t.Helper()
	s.write(func(tx pgx.Tx, by history.By) error {
		settings, err := shop.Get(context.Background(), tx)
		if err != nil {
			return err
		}
		settings.Address = address
		return shop.Save(context.Background(), tx, by, settings)
	})
}

// give takes a picture of a job that its customer may see.
func (c counter) give(j job.Job, wide int) (id int64) {
	c.t.Helper()
	made, err := c.site.pictures.Make(context.Background(), drawnJPEG(c.t, wide, 240))
	if err != nil {
		c.t.Fatal(err)
	}
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) (err error) {
		if id, err = picture.Add(ctx, tx, by(), c.site.pictures, j.ID, nil, made); err != nil {
			return err
		}
		return picture.Show(ctx, tx, by(), j.ID, id, true)
	}, mechanic)
	return id
}

// at is the address of a route of customers, filled with what it opens.
func (c linked) at(pattern string) string {
	if strings.HasPrefix(pattern, "/c/{token}/pictures/{id}") {
		return c.pic + strings.TrimPrefix(pattern, "/c/{token}/pictures/{id}")
	}
	return strings.NewReplacer("/c/{token}", c.visit, "/b/{token}", c.book, "/m/{token}", c.mail).Replace(pattern)
}

// state is how many rows each table has but that of views, and the newest seal.
func (s *site) state() map[string]string {
	s.t.Helper()
	ctx := context.Background()
	rows, err := s.pool.Query(ctx, `select relname from pg_class
		where relkind = 'r' and relnamespace = 'public'::regnamespace and relname <> 'link_view' and relname not like 'river%'`)
	if err != nil {
		s.t.Fatal(err)
	}
	tables, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil || len(tables) < 50 {
		s.t.Fatalf("%d tables: %v", len(tables), err)
	}
	state := map[string]string{}
	queries := map[string]string{"the newest seal": "select seq || ' ' || encode(hash, 'hex') from event_chain order by seq desc limit 1"}
	for _, name := range tables {
		queries[name] = "select count(*)::text from " + pgx.Identifier{name}.Sanitize()
	}
	for name, query := range queries {
		var now string
		if err := s.pool.QueryRow(ctx, query).Scan(&now); err != nil {
			s.t.Fatal(name, err)
		}
		state[name] = now
	}
	return state
}

// RFC 9110, section 9.2.1: GET is safe. Sec-Purpose is of the Fetch standard.
func TestCustomersLookAtEveryRouteAndChangeNothing(t *testing.T) {
	c := newLinked(t)
	before, views := c.state(), c.views()
	walked := 0
	for _, rt := range routes {
		if rt.method != http.MethodGet || !forCustomers(rt.pattern) {
			continue
		}
		walked++
		for _, ahead := range []bool{true, false} {
			req := httptest.NewRequest(http.MethodGet, c.url+c.at(rt.pattern), nil)
			req.RequestURI = ""
			if ahead {
				req.Header.Set("Sec-Purpose", "prefetch;prerender")
			}
			answer, err := http.DefaultClient.Do(req)
			if err != nil {
				t.Fatal(err)
			}
			answer.Body.Close()
			h := answer.Header
			if answer.StatusCode != http.StatusOK || len(answer.Cookies()) > 0 {
				t.Errorf("%s answers %d with the cookies %v", rt.pattern, answer.StatusCode, answer.Cookies())
			}
			kept := h.Get("Cache-Control")
			if h.Get("X-Robots-Tag") != "noindex, nofollow" || h.Get("Referrer-Policy") != "same-origin" || kept != "no-store" && !strings.HasPrefix(kept, "private") {
				t.Errorf("%s: robots %q, referrer %q, kept %q", rt.pattern, h.Get("X-Robots-Tag"), h.Get("Referrer-Policy"), kept)
			}
			if ahead && c.views() != views {
				t.Errorf("%s fetched ahead of anybody counts as a view", rt.pattern)
			}
		}
		views = c.views()
	}
	if walked < 9 || views == 0 {
		t.Errorf("%d routes were walked, want at least 9, and %d views counted", walked, views)
	}
	for name, now := range c.state() {
		if now != before[name] {
			t.Errorf("%s: %s before, %s after", name, before[name], now)
		}
	}
}

// public is the site by the listener for customers alone, at the same time and with
// the same log.
func (s *site) public(baseURL string) *site {
	s.t.Helper()
	web := httptest.NewServer(NewPublic(s.pool, live.NewHub(), Config{
		BaseURL: baseURL, Pictures: s.pictures, LinkKey: linkKey, Log: slog.New(slog.NewTextHandler(s.log, nil)),
		Now: func() time.Time { return dbtest.Now.Add(time.Duration(s.late.Load())) },
	}))
	s.t.Cleanup(web.Close)
	open := *s
	open.url = web.URL
	return &open
}

func (s *site) views() (n int) {
	s.t.Helper()
	if err := s.pool.QueryRow(context.Background(), "select coalesce(sum(count), 0) from link_view").Scan(&n); err != nil {
		s.t.Fatal(err)
	}
	return n
}

// RFC 9110, section 9.1: a general-purpose server has GET and HEAD; 9.3.2: HEAD is
// answered as GET is, without the content.
func TestHeadIsAnsweredAsGetIs(t *testing.T) {
	c := newLinked(t)
	before, views := c.state(), c.views()
	for name, s := range map[string]*site{"the shop's": c.site, "the public": c.public("")} {
		b := s.anybody()
		for _, rt := range routes {
			if rt.method != http.MethodGet || !forCustomers(rt.pattern) {
				continue
			}
			if got := b.send(http.MethodHead, c.at(rt.pattern), nil); got.status != http.StatusOK || got.body != "" {
				t.Errorf("%s listener: HEAD %s answers %d with %d bytes, want 200 with none", name, rt.pattern, got.status, len(got.body))
			}
		}
		for _, path := range []string{"/c/nothing", "/b/nothing", "/m/nothing", "/nothing", c.visit + "/answer"} {
			b.send(http.MethodHead, path, nil).want(http.StatusNotFound)
		}
	}
	if c.views() != views {
		t.Errorf("HEAD counts as %d views", c.views()-views)
	}
	for name, now := range c.state() {
		if now != before[name] {
			t.Errorf("%s: %s before, %s after", name, before[name], now)
		}
	}
}

func TestHeadIsAnsweredOnEveryPageOfTheShop(t *testing.T) {
	s := server(t)
	b := s.as(desk, mechanic, owner)
	for _, rt := range routes {
		if rt.method != http.MethodGet || forCustomers(rt.pattern) {
			continue
		}
		path := filled(rt.pattern)
		if head, get := b.send(http.MethodHead, path, nil).status, b.get(path).status; head != get {
			t.Errorf("HEAD %s answers %d, GET %d", rt.pattern, head, get)
		}
	}
	// A stream has an end where nobody listens to it.
	ctx, stop := context.WithTimeout(t.Context(), 5*time.Second)
	defer stop()
	req, err := http.NewRequestWithContext(ctx, http.MethodHead, s.url+"/live?of=board", nil)
	if err != nil {
		t.Fatal(err)
	}
	if got := b.do(req); got.status != http.StatusOK {
		t.Errorf("HEAD /live answers %d, want 200", got.status)
	}
}

// W3C Fetch Metadata Request Headers: Sec-Fetch-Dest is "document" where somebody goes
// to a page, and is sent to an address that is potentially trustworthy alone.
func TestAViewIsOneThatMayBeAPerson(t *testing.T) {
	c := newLinked(t)
	plain, secret := c.public(""), c.public("https://visits.example.test")
	for _, try := range []struct {
		name          string
		headers       map[string]string
		plain, secret int
	}{
		{"somebody goes there", map[string]string{"Sec-Fetch-Dest": "document", "Sec-Fetch-Mode": "navigate"}, 1, 1},
		{"a browser without TLS, or a program", nil, 1, 0},
		{"a script fetches it", map[string]string{"Sec-Fetch-Dest": "empty"}, 0, 0},
		{"it is asked for as a picture", map[string]string{"Sec-Fetch-Dest": "image"}, 0, 0},
		{"a browser looks ahead", map[string]string{"Sec-Fetch-Dest": "document", "Sec-Purpose": "prefetch;prerender"}, 0, 0},
		{"an older one looks ahead", map[string]string{"Purpose": "prefetch"}, 0, 0},
	} {
		for _, at := range []struct {
			*site
			want int
		}{{plain, try.plain}, {secret, try.secret}} {
			for _, path := range []string{c.visit, c.book} {
				before := c.views()
				req, err := http.NewRequest(http.MethodGet, at.url+path, nil)
				if err != nil {
					t.Fatal(err)
				}
				for name, value := range try.headers {
					req.Header.Set(name, value)
				}
				at.anybody().do(req).want(http.StatusOK)
				if got := c.views() - before; got != at.want {
					t.Errorf("%s, with TLS %v, %s: %d views, want %d", try.name, at.site == secret, path[:3], got, at.want)
				}
			}
		}
	}
}

// RFC 8058: one click comes without cookies, from the server of whoever reads the mail.
func TestOneClickFromAnotherOriginOnBothListeners(t *testing.T) {
	c := newLinked(t)
	open := c.public("")
	for name, base := range map[string]string{"the shop's": c.url, "the public": open.url} {
		req, err := http.NewRequest(http.MethodPost, base+c.mail, strings.NewReader("List-Unsubscribe=One-Click"))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.Header.Set("Origin", "https://mail.example.org")
		req.Header.Set("Sec-Fetch-Site", "cross-site")
		if got := c.anybody().do(req); got.status != http.StatusNoContent {
			t.Errorf("%s listener: %d %s", name, got.status, got.body)
		}
	}
	b := open.anybody()
	gone := b.get("/nothing").want(http.StatusNotFound).body
	for _, path := range []string{c.visit, c.visit + "/card", c.visit + "/due.ics", c.book, c.mail, c.pic, "/healthz"} {
		b.get(path).want(http.StatusOK)
	}
	for _, path := range []string{"/board", "/sign-in", "/messages", jobURL(c.job), "/m", "/mail", "/m/x", "/c/x", "/b/x"} {
		if got := b.get(path).want(http.StatusNotFound); got.body != gone {
			t.Errorf("%s is told apart from what is not there: %q", path, got.words("main"))
		}
	}
}

func TestMailAddressesAreFewForOneAddressToo(t *testing.T) {
	c := newLinked(t)
	b := c.anybody()
	gone := b.get("/c/" + strings.Repeat("x", 43)).want(http.StatusNotFound).body
	for i := range wrongAtOnce - 1 {
		if got := b.get(fmt.Sprintf("/m/%d", i)).want(http.StatusNotFound); got.body != gone {
			t.Fatalf("it is told apart from a page that is gone: %q", got.words("main"))
		}
	}
	b.get("/m/once-more").want(http.StatusTooManyRequests).wantWords("h1", "Too many tries")
	b.get(c.mail).want(http.StatusTooManyRequests)
	b.post(c.mail, "kind", "ready").want(http.StatusTooManyRequests)
	c.pass(wrongEach + time.Second)
	b.get(c.mail).want(http.StatusOK)
}
