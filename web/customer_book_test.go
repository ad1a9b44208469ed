package web

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"damperdesk/internal/book"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/interval"
	"damperdesk/internal/live"
)

// bookPath is where the book of the fork is, once it has a link.
func (c frontDesk) bookPath() string {
	c.t.Helper()
	unit := "/units/" + c.id(c.fork)
	c.post(unit + "/link").wantTo(unit + "?done=link")
	return strings.TrimPrefix(c.get(unit).want(200).Find("#content a[href*='/b/']").AttrOr("href", ""), c.url)
}

func TestTheBooksLinkIsMadeShownAndRevoked(t *testing.T) {
	c := newFrontDesk(t)
	unit := "/units/" + c.id(c.fork)
	c.get(unit+"/sticker").want(404).wantWords("main", "make one on the unit’s page")
	path := c.bookPath()
	if len(path) != len("/b/")+43 {
		t.Fatalf("the address is %q", path)
	}
	p := c.get(unit + "/sticker").want(200)
	p.wantWords(".sticker", "Weir Lane Cycles")
	if p.Find(".sticker svg.qr").Length() != 1 {
		t.Error("the sticker has no code")
	}
	// What a scanner types leads whoever works here to the unit.
	c.get("/codes?code=" + c.url + path).wantTo(unit)
	s := c.anybody()
	s.get(path).want(200).wantWords("h1", "Tindra Lode")
	c.post(unit + "/link/revoke").wantTo(unit + "?done=revoked")
	s.get(path).want(404)
	c.get(unit).wantWords("#content", "Make the book’s link")
	c.as(mechanic).post(unit + "/link/revoke").want(403)
}

// HTML, RFC 9110 (section 9.2.1: GET is safe) and what browsers send ahead of
// anybody: Sec-Purpose of the Fetch standard.
func TestLookingIsCountedAndChangesNothing(t *testing.T) {
	c := newFrontDesk(t)
	path := c.bookPath()
	s := c.anybody()
	count := func(what string) (n int) {
		t.Helper()
		if err := c.pool.QueryRow(context.Background(), what).Scan(&n); err != nil {
			t.Fatal(err)
		}
		return n
	}
	events := count("select count(*) from event")
	s.get(path).want(200)
	s.get(path).want(200)
	s.getWith(path, "Sec-Purpose", "prefetch;prerender").want(200)
	s.getWith(path, "Purpose", "prefetch").want(200)
	s.send(http.MethodHead, path, nil)
	c.get(path).want(200) // somebody of the shop
	s.get("/b/" + strings.Repeat("x", 43)).want(404)
	if rows, n := count("select count(*) from link_view"), count("select sum(count) from link_view"); rows != 1 || n != 2 {
		t.Errorf("%d rows, %d views; want one row of 2", rows, n)
	}
	if after := count("select count(*) from event"); after != events {
		t.Errorf("looking made %d events", after-events)
	}
	c.get("/units/"+c.id(c.fork)).wantWords("#content", "Opened on 13 October, 2 times; by a person, or a program that looks ahead.")
	// A page whose view cannot be counted is shown all the same.
	tx, err := c.pool.Begin(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback(context.Background())
	if _, err := tx.Exec(context.Background(), "lock table link_view in share mode"); err != nil {
		t.Fatal(err)
	}
	s.get(path).want(200).wantWords("h1", "Tindra Lode")
	if !strings.Contains(c.log.String(), "a view was not counted") {
		t.Error("the log does not say that a view was not counted")
	}
}

// Nothing of a person is in the page that goes with the unit.
func TestTheBookSaysNothingOfWhoseItIs(t *testing.T) {
	c := newFrontDesk(t)
	path := c.bookPath()
	c.post("/drop-off", c.fields("left", "a red lock", "unit0.complaint", "groans, says the rider", "unit0.hangs", "peg eleven")...).want(303)
	for _, page := range []string{path, path + "/book.json"} {
		p := c.anybody().get(page).want(200)
		for _, own := range []string{"Odette", "Marsh", "900118", "red lock", "groans", "peg eleven"} {
			if strings.Contains(p.body, own) {
				t.Errorf("%s says %q", page[:3], own)
			}
		}
	}
}

func TestTheRiderAddsHours(t *testing.T) {
	c := newFrontDesk(t)
	path := c.bookPath()
	s := c.anybody()
	p := s.post(path+"/hours", "hours", "lots", "rides", "2").want(422)
	if p.wrong("hours") == "" || p.value("hours") != "lots" || p.value("rides") != "2" {
		t.Errorf("says %q of %q and %q", p.wrong("hours"), p.value("hours"), p.value("rides"))
	}
	if p := s.post(path + "/hours").want(422); p.wrong("hours") == "" {
		t.Error("nothing said is taken")
	}
	intent := s.get(path).intent(path + "/hours")
	for range 2 {
		s.post(path+"/hours", "intent", intent, "hours", "12.5", "rides", "2", "each", "90 min").wantTo(path + "?done=hours")
	}
	s.get(path+"?done=hours").want(200).wantWords("#content", "12.5 h since")
	readings, err := interval.Readings(context.Background(), c.pool, c.fork)
	if err != nil || len(readings) != 2 || readings[0].Source != "rider" || readings[0].By != "" {
		t.Errorf("readings %+v, %v; want the hours and the habit, by the rider", readings, err)
	}
	var actors, answers int
	if err := c.pool.QueryRow(context.Background(), `select count(*) filter (where e.actor_id is not null), count(*) filter (where i.answer like '%/b/%')
		from event e join intent i on i.id = e.intent_id where e.kind = 'ride hours said'`).Scan(&actors, &answers); err != nil || actors+answers != 0 {
		t.Errorf("%d events with an actor, %d answers with the secret, %v", actors, answers, err)
	}
	for range 5 {
		s.post(path+"/hours", "hours", "12.5", "rides", "2", "each", "90 min").want(303)
	}
	s.post(path+"/hours", "hours", "13").want(409).wantWords("#content", "enough for one day")
	s.post("/b/"+strings.Repeat("x", 43)+"/hours", "hours", "1").want(404)
}

// Whoever sends many at one moment gets no more than whoever sends them one by one.
func TestHoursOfOneMomentCountEachOther(t *testing.T) {
	c := newFrontDesk(t)
	path := c.bookPath()
	s := c.anybody()
	status := make(chan int, 30)
	for range cap(status) {
		go func() { status <- s.post(path+"/hours", "hours", "12.5").status }()
	}
	taken := 0
	for range cap(status) {
		if <-status == http.StatusSeeOther {
			taken++
		}
	}
	readings, err := interval.Readings(context.Background(), c.pool, c.fork)
	if err != nil || taken != mostSaidOnPage || len(readings) != mostSaidOnPage {
		t.Errorf("%d of 30 are taken, %d readings kept, %v; want %d", taken, len(readings), err, mostSaidOnPage)
	}
}

// A service whose day is one ahead here, as another shop's zone may have it, keeps
// nobody from adding hours.
func TestTheRiderAddsHoursAfterAServiceOfTomorrow(t *testing.T) {
	c := newFrontDesk(t)
	path := c.bookPath()
	b := worn().Book
	b.Works, b.Facts.Serial = b.Works[:1], ""
	b.Works[0].Day.Time = interval.Day(dbtest.Now.AddDate(0, 0, 1), time.UTC)
	content, err := b.File(dbtest.Now).JSON()
	if err != nil {
		t.Fatal(err)
	}
	plan := c.postFiles("/units/read-book", []attached{{"file", content}}, "unit", c.id(c.fork)).want(303).to
	c.post(plan+"/apply", "shown", c.id(c.fork)).want(303)
	s := c.anybody()
	s.get(path).want(200).wantWords("#book-hours + form", "Hours count from 13 October")
	s.post(path+"/hours", "hours", "1.5").wantTo(path + "?done=hours")
}

// goneLinks are all the ways in which a link leads nowhere.
func (c frontDesk) goneLinks() map[string]string {
	c.t.Helper()
	unit := "/units/" + c.id(c.fork)
	book := c.bookPath()
	visit := c.post("/drop-off", c.fields()...).want(303).to
	page := strings.TrimPrefix(c.get(visit).Find("#content a[href*='/c/']").AttrOr("href", ""), c.url)
	links := map[string]string{"unknown": "/b/" + strings.Repeat("x", 43), "of another purpose": "/b" + page[2:], "a book for a visit": "/c" + book[2:]}
	c.post(unit + "/link/revoke").want(303)
	links["revoked"] = book
	links["expired"] = c.bookPath()
	if _, err := c.pool.Exec(context.Background(), "update link set expires_at = $1 where revoked_at is null and unit_id is not null", dbtest.Now); err != nil {
		c.t.Fatal(err)
	}
	links["empty words"] = "/b/%20"
	links["its file"] = book + "/book.json"
	links["a picture"] = "/c" + book[2:] + "/pictures/one"
	return links
}

func TestEveryLinkThatLeadsNowhereHasOneAnswer(t *testing.T) {
	c := newFrontDesk(t)
	s := c.anybody()
	first := ""
	for name, path := range c.goneLinks() {
		p := s.get(path).want(404)
		if first == "" {
			first = p.body
		}
		if p.body != first {
			t.Errorf("%s: the page is\n%s\nwant, as of another,\n%s", name, p.body, first)
		}
	}
	if !strings.Contains(first, "does not work any more") {
		t.Errorf("it says %q", first)
	}
	if logged := c.log.String(); strings.Contains(logged, strings.Repeat("x", 43)) {
		t.Error("the log has a token")
	}
}

func TestWrongLinksAreFewForOneAddress(t *testing.T) {
	c := newFrontDesk(t)
	path := c.bookPath()
	s := c.anybody()
	for i := range wrongAtOnce {
		s.get(fmt.Sprintf("/b/%043d", i)).want(404)
	}
	p := s.get("/b/" + strings.Repeat("y", 43)).want(429)
	p.wantWords("h1", "Too many tries")
	s.get(path).want(429)
	c.get("/board").want(200) // the shop's own goes on
	c.pass(wrongEach + time.Second)
	s.get(path).want(200)
	// Right ones are many.
	for range 60 {
		s.get(path).want(200)
	}
}

// Addresses are of the ranges for documentation (RFC 5737, RFC 3849).
func TestTriesAreCountedByAddressAndRememberedWithinBounds(t *testing.T) {
	var counted tries
	asked := func(remote string) *http.Request {
		r := httptest.NewRequest(http.MethodGet, "/b/x", nil)
		r.RemoteAddr = remote
		return r
	}
	for range wrongAtOnce {
		counted.miss(asker(asked("[2001:db8:1:2::7]:4000")), dbtest.Now)
	}
	for remote, want := range map[string]bool{"[2001:db8:1:2::8]:4001": true, "2001:db8:1:2::9": true, "[2001:db8:1:3::7]:4000": false, "192.0.2.1:1": false} {
		if got := counted.ask(asker(asked(remote)), dbtest.Now) > 0; got != want {
			t.Errorf("%s has to wait: %v, want %v", remote, got, want)
		}
	}
	for i := range mostAddresses + 10 {
		addr := asker(asked(fmt.Sprintf("198.%d.%d.%d:1", 18+i>>16, i>>8&255, i&255)))
		counted.ask(addr, dbtest.Now)
	}
	if n := len(counted.of); n > mostAddresses {
		t.Errorf("%d addresses are remembered, want at most %d", n, mostAddresses)
	}
	counted.forget(dbtest.Now.Add(wrongAtOnce * wrongEach))
	if n := len(counted.of); n != 0 {
		t.Errorf("%d are remembered when all have their tries back", n)
	}
}

// Every other route of the table answers as a link that leads nowhere, whoever is
// signed in.
func TestTheListenerForCustomersServesNothingElse(t *testing.T) {
	c := newFrontDesk(t)
	path := c.bookPath()
	owners := c.as(owner, desk, mechanic)
	var seconds atomic.Int64 // so slowly that nobody is asked to wait
	public := httptest.NewServer(NewPublic(c.pool, live.NewHub(), Config{Pictures: c.pictures, LinkKey: linkKey, Log: slog.New(slog.DiscardHandler),
		Now: func() time.Time { return dbtest.Now.Add(time.Hour + time.Duration(seconds.Add(1))*time.Second) }}))
	t.Cleanup(public.Close)
	open := *c.site
	open.url = public.URL
	for name, b := range map[string]*browser{"anybody": c.anybody(), "an owner": owners} {
		b.site = &open
		gone := b.get("/nothing").want(404).body
		for _, rt := range routes {
			if forCustomers(rt.pattern) || rt.pattern == "/healthz" {
				continue
			}
			var p *page
			if rt.method == http.MethodPost {
				p = b.post(filled(rt.pattern))
			} else {
				p = b.get(filled(rt.pattern))
			}
			if p.status != http.StatusNotFound || p.body != gone {
				t.Errorf("%s %s for %s: status %d, %q", rt.method, rt.pattern, name, p.status, p.words("main"))
			}
		}
		b.get("/healthz").want(200)
		if look := b.get(path).want(200); strings.Contains(look.body, "masthead") {
			t.Errorf("the book shows %s a masthead", name)
		}
		stylesheet := b.get(path).Find("link[rel=stylesheet]").AttrOr("href", "")
		b.get(stylesheet).want(200)
		b.post(path+"/hours", "hours", "3").want(303)
	}
}

func TestAServiceBookIsReadInAfterALook(t *testing.T) {
	c := newFrontDesk(t)
	unit := "/units/" + c.id(c.fork)
	content, err := worn().Book.File(dbtest.Now).JSON()
	if err != nil {
		t.Fatal(err)
	}
	p := c.postFiles("/units/read-book", []attached{{"file", []byte("{}")}}, "unit", c.id(c.fork)).want(422)
	if !strings.Contains(p.wrong("file"), "This is no service book") || p.value("unit") != c.id(c.fork) {
		t.Errorf("says %q of unit %q", p.wrong("file"), p.value("unit"))
	}
	content = bytes.ReplaceAll(content, []byte("TL-48 211"), []byte(c.digit("select serial from unit where id = $1", c.fork)))
	plan := c.postFiles("/units/read-book", []attached{{"file", content}}, "unit", c.id(c.fork)).want(303).to
	look := c.get(plan).want(200).wantWords("#content", "40 earlier services with 400 readings")
	look.wantWords("#content", "Tindra Lode of Odette Marsh")
	c.as(desk).get(plan).want(404) // brought by somebody else
	c.post(plan+"/apply", "shown", "999").want(409)
	c.post(plan+"/apply", "shown", c.id(c.fork)).wantTo(unit + "?done=book")
	c.get(unit).want(200).wantWords("#elsewhere", "Done elsewhere")
	file := c.get(unit + "/book.json").want(200)
	read, err := book.Parse([]byte(file.body), dbtest.Now)
	if err != nil || len(read.Services) != 40 {
		t.Errorf("the file that the shop saves has %d services, %v", len(read.Services), err)
	}
	s := c.anybody()
	s.get(c.bookPath()).want(200).wantWords("#content", "elsewhere")
	c.as(mechanic).get("/units/read-book").want(403)
}

// A file without a serial that is brought again says which unit it made before.
func TestThePlanWarnsOfAUnitThatMayBeTheSame(t *testing.T) {
	c := newFrontDesk(t)
	b := worn().Book
	b.Facts.Serial = ""
	content, err := b.File(dbtest.Now).JSON()
	if err != nil {
		t.Fatal(err)
	}
	of := c.digit("select customer_id::text from unit where id = $1", c.fork)
	plan := c.postFiles("/units/read-book", []attached{{"file", content}}, "customer", of).want(303).to
	if p := c.get(plan).want(200); strings.Contains(p.body, "maybe here already") {
		t.Error("the first time it warns")
	}
	unit := strings.TrimSuffix(c.post(plan+"/apply", "shown", "0").want(303).to, "?done=book")
	plan = c.postFiles("/units/read-book", []attached{{"file", content}}, "customer", of).want(303).to
	p := c.get(plan).want(200).wantWords("#content", "maybe here already")
	if p.Find("a[href='/units/read-book?unit="+strings.TrimPrefix(unit, "/units/")+"']").Length() != 1 {
		t.Error("it does not lead to reading the file into that unit")
	}
}

// digit is a text of the database.
func (c frontDesk) digit(query string, id int64) (text string) {
	c.t.Helper()
	if err := c.pool.QueryRow(context.Background(), query, id).Scan(&text); err != nil {
		c.t.Fatal(err)
	}
	return text
}

// A visit's page has who opened it too.
func TestTheVisitSaysWhenItsPageWasOpened(t *testing.T) {
	c := newFrontDesk(t)
	visit := c.post("/drop-off", c.fields()...).want(303).to
	p := c.get(visit).wantWords("#content", "Not opened yet, as far as we can tell.")
	page := strings.TrimPrefix(p.Find("#content a[href*='/c/']").AttrOr("href", ""), c.url)
	c.anybody().get(page).want(200)
	c.get(visit).wantWords("#content", "Opened on 13 October; by a person, or a program that looks ahead.")
}
