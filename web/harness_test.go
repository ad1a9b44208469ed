package web

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/live"
	"damperdesk/internal/picture"
	"damperdesk/internal/shop"
	"damperdesk/internal/staff"
)

func TestMain(m *testing.M) {
	staff.Thrifty()
	dbtest.Main(m)
}

// journal is what servers of a test log, several of them at once.
type journal struct {
	mu   sync.Mutex
	text strings.Builder
}

func (j *journal) Write(p []byte) (int, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.text.Write(p)
}

func (j *journal) String() string {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.text.String()
}

// site is a running app on a database of the test's own, at dbtest.Now.
type site struct {
	t            *testing.T
	pool         *db.Pool
	url          string
	log          *journal
	pictures     *picture.Folder
	asked        []int64       // runs that the background was handed
	mailed       int           // how often mail was to be looked at soon
	losePictures func()        // removes the files
	late         *atomic.Int64 // how long after dbtest.Now it is, in nanoseconds
}

// pass lets time go by.
func (s *site) pass(d time.Duration) { s.late.Add(int64(d)) }

var linkKey = bytes.Repeat([]byte{7}, 32)

// server runs the app for a shop in London that is set up and employs nobody.
func server(t *testing.T) *site {
	t.Helper()
	s := bareServer(t)
	s.write(func(tx pgx.Tx, by history.By) error {
		return shop.Save(context.Background(), tx, by, shop.Settings{
			Name: "Weir Lane Cycles", Zone: "Europe/London", Currency: "GBP", Hemisphere: "north",
			TorqueUnit: "N·m", VolumeUnit: "mL", PressureUnit: "psi", MassUnit: "kg",
		})
	})
	return s
}

// bareServer runs the app on an empty database.
func bareServer(t *testing.T) *site {
	t.Helper()
	s := &site{t: t, pool: dbtest.Clone(t), log: &journal{}, late: &atomic.Int64{}}
	var err error
	dir := t.TempDir()
	s.losePictures = func() {
		if err := os.RemoveAll(dir); err != nil {
			t.Fatal(err)
		}
	}
	if s.pictures, err = picture.Open(dir); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.pictures.Close() })
	hub := live.NewHub()
	ctx, stop := context.WithCancel(context.Background())
	log := slog.New(slog.NewTextHandler(s.log, nil))
	ran := make(chan struct{})
	go func() { hub.Run(ctx, s.pool, log); close(ran) }()
	web := httptest.NewServer(New(s.pool, hub, Config{
		Pictures: s.pictures, LinkKey: linkKey, Version: "test", Log: log, Now: func() time.Time { return dbtest.Now.Add(time.Duration(s.late.Load())) }, Stopping: ctx,
		Advise:   func(_ context.Context, _ pgx.Tx, run int64) error { s.asked = append(s.asked, run); return nil },
		SendMail: func(context.Context, pgx.Tx) error { s.mailed++; return nil },
	}))
	t.Cleanup(func() { stop(); web.Close(); <-ran })
	s.url = web.URL
	return s
}

// write does something in a committed transaction, as the program itself with an
// owner’s say.
func (s *site) write(fn func(tx pgx.Tx, by history.By) error) {
	s.t.Helper()
	ctx := context.Background()
	err := pgx.BeginFunc(ctx, s.pool, func(tx pgx.Tx) error {
		return fn(tx, dbtest.Act(s.t, tx, history.By{At: dbtest.Now, Roles: []string{owner}}))
	})
	if err != nil {
		s.t.Fatal(err)
	}
}

// browser is a client with its own cookies. It does not follow redirects.
type browser struct {
	*site
	person staff.Person
	client *http.Client
	token  string
	tablet string // the token of an enrolled tablet; empty on any other device
}

// anybody is a browser that is not signed in.
func (s *site) anybody() *browser {
	return &browser{site: s, client: &http.Client{
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}}
}

var namesGiven atomic.Int64

// as is a browser signed in as a new person with these roles, without the cost
// of a pass-phrase.
func (s *site) as(roles ...string) *browser {
	s.t.Helper()
	ctx := context.Background()
	var id int64
	err := s.pool.QueryRow(ctx, `insert into staff (name, roles, passphrase_hash) values ($1, $2, 'none') returning id`,
		fmt.Sprint("Person ", namesGiven.Add(1)), roles).Scan(&id)
	if err != nil {
		s.t.Fatal(err)
	}
	b := s.anybody()
	if b.person, err = staff.Get(ctx, s.pool, id); err != nil {
		s.t.Fatal(err)
	}
	sessions := newSessions(s.pool, "")
	if ctx, err = sessions.Load(ctx, ""); err != nil {
		s.t.Fatal(err)
	}
	sessions.Put(ctx, sessionStaff, b.person.ID)
	sessions.Put(ctx, sessionEpoch, b.person.Epoch)
	if b.token, _, err = sessions.Commit(ctx); err != nil {
		s.t.Fatal(err)
	}
	return b
}

// page is an answer of the app.
type page struct {
	*goquery.Document
	t      *testing.T
	status int
	to     string // where it redirects
	body   string
}

func (b *browser) get(path string) *page {
	b.t.Helper()
	return b.send(http.MethodGet, path, nil)
}

// getWith is get with a header of that name.
func (b *browser) getWith(path, name, value string) *page {
	b.t.Helper()
	req, err := http.NewRequest(http.MethodGet, b.url+path, nil)
	if err != nil {
		b.t.Fatal(err)
	}
	req.Header.Set(name, value)
	return b.do(req)
}

// post sends a form. Fields are name and value in turn; an intent id is added
// unless one is given.
func (b *browser) post(path string, fields ...string) *page {
	b.t.Helper()
	form := url.Values{}
	for i := 0; i+1 < len(fields); i += 2 {
		form.Add(fields[i], fields[i+1])
	}
	if !form.Has("intent") {
		form.Set("intent", uuid.NewString())
	}
	return b.send(http.MethodPost, path, form)
}

func (b *browser) send(method, path string, form url.Values) *page {
	b.t.Helper()
	req, err := http.NewRequest(method, b.url+path, strings.NewReader(form.Encode()))
	if err != nil {
		b.t.Fatal(err)
	}
	if form != nil {
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.Header.Set("Origin", b.url)
	}
	return b.do(req)
}

func (b *browser) do(req *http.Request) *page {
	b.t.Helper()
	if b.token != "" {
		req.AddCookie(&http.Cookie{Name: "desk", Value: b.token})
	}
	if b.tablet != "" {
		req.AddCookie(&http.Cookie{Name: tabletCookie, Value: b.tablet})
	}
	answer, err := b.client.Do(req)
	if err != nil {
		b.t.Fatalf("%s %s: %v", req.Method, req.URL.Path, err)
	}
	defer answer.Body.Close()
	for _, c := range answer.Cookies() {
		switch c.Name {
		case "desk":
			b.token = c.Value
		case tabletCookie:
			b.tablet = c.Value
		}
	}
	return read(b.t, answer)
}

func read(t *testing.T, answer *http.Response) *page {
	t.Helper()
	body, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := goquery.NewDocumentFromReader(bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	p := &page{Document: doc, t: t, status: answer.StatusCode, to: answer.Header.Get("Location"), body: string(body)}
	p.wantOwnIDs(answer.Request.URL.Path)
	return p
}

// wantOwnIDs fails the test where two elements have one id: a label, a message
// or a link would lead to the first of them alone.
func (p *page) wantOwnIDs(path string) {
	p.t.Helper()
	had := map[string]bool{}
	for _, element := range p.Find("[id]").EachIter() {
		id := element.AttrOr("id", "")
		if had[id] {
			p.t.Errorf("%s: two elements have the id %q", path, id)
		}
		had[id] = true
	}
}

// want fails the test unless the page has that status.
func (p *page) want(status int) *page {
	p.t.Helper()
	if p.status != status {
		p.t.Fatalf("status %d (to %q), want %d; the page says %q", p.status, p.to, status, p.words("main"))
	}
	return p
}

// wantTo fails the test unless the page redirects there.
func (p *page) wantTo(path string) *page {
	p.t.Helper()
	p.want(http.StatusSeeOther)
	if p.to != path {
		p.t.Fatalf("leads to %q, want %q", p.to, path)
	}
	return p
}

// words is the text of what the selector finds, with single spaces.
func (p *page) words(selector string) string {
	return strings.Join(strings.Fields(p.Find(selector).Text()), " ")
}

// wantWords fails the test unless what the selector finds has the text.
func (p *page) wantWords(selector, text string) *page {
	p.t.Helper()
	if got := p.words(selector); !strings.Contains(got, text) {
		p.t.Errorf("%s says %q, want %q", selector, got, text)
	}
	return p
}

// wrong is the sentence beside a field.
func (p *page) wrong(field string) string {
	return p.words("#f-" + strings.ReplaceAll(field, ".", "-") + "-error")
}

// value is what a field holds.
func (p *page) value(field string) string {
	return p.Find(`[name="`+field+`"]`).AttrOr("value", "")
}

// intent is the act of the first form that posts to path.
func (p *page) intent(path string) string {
	p.t.Helper()
	id, ok := p.Find(`form[action="` + path + `"] input[name=intent]`).Attr("value")
	if !ok {
		p.t.Fatalf("no form for %s with an intent", path)
	}
	return id
}
