package main

import (
	"errors"
	"fmt"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"path"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/google/uuid"
)

// mechanic is somebody who works on one bench sheet in a browser,
// signing and crossing out, and who sends again what was not acknowledged.
type mechanic struct {
	name    string
	client  *http.Client
	address string // of the server as it runs now

	at     string   // the page to go on at
	signed string   // the step signed last, "" when the last press was another
	signs  int      // how many steps were signed alone
	stops  []string // steps that say stop here: crossing one out opens all after it

	sent         *press // and not acknowledged
	acknowledged []*press
	ended        error
}

// press is a form as it was sent.
type press struct {
	path   string
	fields url.Values
	led    string // where the acknowledgement leads
	again  bool   // sent more than once
	stored bool   // and had been stored before
}

func (p *press) kind() string      { return path.Base(p.path) }
func (p *press) intent() uuid.UUID { return uuid.MustParse(p.fields.Get("intent")) }

func (p *press) signoff() int64 {
	id, _ := strconv.ParseInt(p.fields.Get("signoff"), 10, 64) // 0 is no sign-off
	return id
}

// steps is which steps the press signs, in order.
func (p *press) steps() []int64 {
	names := []string{path.Base(path.Dir(p.path))}
	if p.kind() == "together" {
		names = nil
		for field := range p.fields {
			if id, of, _ := strings.Cut(field, "."); of == "outcome" {
				names = append(names, strings.TrimPrefix(id, "line"))
			}
		}
	}
	var ids []int64
	for _, name := range names {
		id, _ := strconv.ParseInt(name, 10, 64) // 0 is no step
		ids = append(ids, id)
	}
	slices.Sort(ids)
	return ids
}

// lostServer is an answer that did not come, or says that the database is gone.
type lostServer struct{ error }

func lost(err error) bool { return errors.As(err, new(lostServer)) }

// signedIn signs somebody in and starts the first job of the bench's queue.
func signedIn(t *testing.T, r running, name string) *mechanic {
	t.Helper()
	m := newMechanic(t, r.address, name)
	m.signIn(t)
	m.start(t)
	return m
}

func newMechanic(t *testing.T, address, name string) *mechanic {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	return &mechanic{name: name, address: address, client: &http.Client{
		Jar: jar, Timeout: 15 * time.Second,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}}
}

func (m *mechanic) signIn(t *testing.T) {
	t.Helper()
	fields := url.Values{"name": {m.name}, "passphrase": {passphrase}, "next": {"/bench"}}
	if to, err := m.post("/sign-in", fields); err != nil || to != "/bench" {
		t.Fatalf("%s signs in: to %q, %v", m.name, to, err)
	}
}

// start starts the first job of the bench's queue.
func (m *mechanic) start(t *testing.T) {
	t.Helper()
	bench, err := m.get("/bench")
	if err != nil {
		t.Fatal(err)
	}
	start := bench.Find(`form[action$="/start"]`).First()
	sheet, err := m.post(start.AttrOr("action", "none"), filled(start))
	if err != nil {
		t.Fatalf("%s starts a job: %v", m.name, err)
	}
	page, err := m.get(sheet)
	if err != nil {
		t.Fatal(err)
	}
	m.at = page.Find(".links a.main").AttrOr("href", "")
}

func (m *mechanic) get(path string) (*goquery.Document, error) {
	res, err := m.client.Get(m.address + path)
	if err != nil {
		return nil, lostServer{err}
	}
	return answered(res, http.StatusOK)
}

// post returns where the acknowledgement leads.
func (m *mechanic) post(path string, fields url.Values) (to string, err error) {
	res, err := m.client.PostForm(m.address+path, fields)
	if err != nil {
		return "", lostServer{err}
	}
	_, err = answered(res, http.StatusSeeOther)
	return res.Header.Get("Location"), err
}

// answered reads the whole page, which has to have that status.
func answered(res *http.Response, want int) (*goquery.Document, error) {
	defer res.Body.Close()
	page, err := goquery.NewDocumentFromReader(res.Body)
	switch {
	case res.StatusCode == want && err == nil:
		return page, nil
	case err != nil:
		return nil, lostServer{err}
	}
	words := strings.Join(strings.Fields(page.Find(".problem, .wrong, .lead").Text()), " ")
	err = fmt.Errorf("%s %s: %s: %s", res.Request.Method, res.Request.URL.Path, res.Status, words)
	if res.StatusCode == http.StatusInternalServerError {
		return nil, lostServer{err}
	}
	return nil, err
}

// pressOn sends again what was not acknowledged, then makes that many presses
// unless something goes wrong. It tells whoever waits just then of each.
func (m *mechanic) pressOn(address string, presses int, sending chan<- struct{}) (err error) {
	m.address = address
	for range presses {
		if m.sent == nil {
			if m.sent, err = m.next(); err != nil {
				return err
			}
		}
		select {
		case sending <- struct{}{}:
		default:
		}
		if err = m.send(); err != nil {
			return err
		}
	}
	return nil
}

func (m *mechanic) send() error {
	to, err := m.post(m.sent.path, m.sent.fields)
	if err != nil {
		return err
	}
	m.sent.led = to
	m.acknowledged = append(m.acknowledged, m.sent)
	m.signed = ""
	if m.sent.kind() == "sign" {
		m.signed = path.Dir(m.sent.path)
		m.signs++
	}
	m.at, _, _ = strings.Cut(to, "#")
	m.sent = nil
	return nil
}

// next fills the form of the next open step, but crosses out every fourth one
// that was signed alone. On a sheet that is signed to its end the first stop-here is
// crossed out.
func (m *mechanic) next() (*press, error) {
	whole := !strings.Contains(m.at, "/steps/")
	switch {
	case whole && len(m.stops) > 0:
		return m.crossOut(m.stops[0])
	case whole:
		return nil, fmt.Errorf("%s has no step to go on with", m.name)
	case m.signed != "" && m.signs%4 == 0:
		return m.crossOut(m.signed)
	}
	page, err := m.get(m.at)
	if err != nil {
		return nil, err
	}
	if strings.Contains(page.Find(".step-no").Text(), "stop here") && !slices.Contains(m.stops, m.at) {
		m.stops = append(m.stops, m.at)
	}
	return pressOf(page.Find("main form").First())
}

func (m *mechanic) crossOut(step string) (*press, error) {
	page, err := m.get(step)
	if err != nil {
		return nil, err
	}
	return pressOf(page.Find(`form[action$="/cross-out"]`).First())
}

func pressOf(form *goquery.Selection) (*press, error) {
	p := &press{path: form.AttrOr("action", ""), fields: filled(form)}
	if _, err := uuid.Parse(p.fields.Get("intent")); err != nil {
		return nil, fmt.Errorf("no form with an intent, but %q: %w", p.path, err)
	}
	return p, nil
}

// filled takes a form as it stands, chooses the first of a row without a
// choice, ticks everything, types 9 for a number and a reason.
func filled(form *goquery.Selection) url.Values {
	sent := url.Values{}
	form.Find("input[name]:not([disabled])").Each(func(_ int, field *goquery.Selection) {
		name, value := field.AttrOr("name", ""), field.AttrOr("value", "")
		_, checked := field.Attr("checked")
		_, number := field.Attr("data-step")
		switch field.AttrOr("type", "text") {
		case "radio":
			if !checked && sent.Has(name) {
				return
			}
		case "checkbox":
			sent.Add(name, value)
			return
		default:
			if value == "" && number && !strings.HasSuffix(name, "-other") {
				value = "9"
			}
			if strings.HasSuffix(name, "reason") {
				value = "to see what is kept"
			}
		}
		sent.Set(name, value)
	})
	form.Find("textarea[name]").Each(func(_ int, field *goquery.Selection) {
		sent.Set(field.AttrOr("name", ""), "Smooth again.")
	})
	form.Find("select[name]").Each(func(_ int, field *goquery.Selection) {
		chosen := field.Find("option[selected]")
		if chosen.Length() == 0 {
			chosen = field.Find("option").First()
		}
		sent.Set(field.AttrOr("name", ""), chosen.AttrOr("value", ""))
	})
	if button := form.Find("button[name=signoff]"); button.Length() > 0 {
		sent.Set("signoff", button.AttrOr("value", ""))
	}
	return sent
}
