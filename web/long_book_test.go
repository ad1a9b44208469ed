package web

import (
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"damperdesk/internal/book"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/interval"
	"damperdesk/internal/quantity"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

// worn is a book of forty services with ten readings each, more than a fork sees.
func worn() templates.RiderBookPage {
	return lived(40, 0, "A4", "A6", "A7", "S9.left", "S9.right", "P2", "V4.overnight", "U1", "D1.11", "D2.9")
}

// lived is a book of so many services with a reading of each of those steps, and
// of so many notes.
func lived(services, notes int, steps ...string) templates.RiderBookPage {
	p := templates.RiderBookPage{Token: strings.Repeat("t", 43), Base: templates.Base{Now: dbtest.Now, Intent: uuid.NewString(), Shop: "Weir Lane Cycles",
		Prefs: templates.Prefs{Zone: time.UTC, PressureUnit: quantity.PSI}}}
	p.Book = book.Book{Facts: book.Facts{Kind: "fork", Maker: "Tindra", Model: "Lode", Serial: "TL-48 211"}, Unit: customer.Unit{ID: 1, Kind: "fork"},
		Shop: shop.Settings{Name: "Weir Lane Cycles", Phone: "07700 900118"}}
	for i := range services {
		day := dbtest.Now.AddDate(0, 0, -90*i*40/services)
		w := book.Work{Ref: fmt.Sprintf("%016x", i), Day: book.Date{Time: day}, Shop: "Weir Lane Cycles", Own: true, Services: []book.Done{{Code: "lower-leg", Name: "Lower-leg service"}, {Code: "damper", Name: "Damper service"}},
			Found: []book.Found{{What: "Bushing play", Grade: "needs doing", Words: fmt.Sprintf("play at a quarter of the travel, %d", i*37%101), PutRight: i%2 == 0, How: fmt.Sprintf("new bushings fitted and sized, %d", i*53%97)}}}
		for k, step := range steps {
			value, r := 5e5+float64(i*k%17)*1234.5, book.Reading{Step: step, What: step}
			if k%2 == 0 {
				r.Quantity, r.Value, r.Unit, r.ShownIn = quantity.KindPressure, &value, "Pa", quantity.PSI
			} else {
				r.Grades = []string{"none", "felt", "seen", "knocks"}
				r.Grade = r.Grades[i*k%4]
			}
			w.Readings = append(w.Readings, r)
		}
		p.Works = append(p.Works, w)
	}
	for i := range notes {
		p.Readings = append(p.Readings, interval.Reading{ID: int64(i + 1), Kind: interval.Stated, Hours: float64(i*31%97) / 2, Source: "rider", Own: true,
			At: dbtest.Now.AddDate(0, 0, i-notes)})
	}
	return p
}

// A hire fork is here every other week, and somebody says each week how much it
// was ridden.
func TestABookIsSmallHoweverLongItsUnitLived(t *testing.T) {
	var steps []string
	for i := range 25 {
		steps = append(steps, fmt.Sprint("D1.", i))
	}
	for name, p := range map[string]templates.RiderBookPage{"forty services": worn(), "a hire fork": lived(150, 300, steps...), "all that a file has": lived(500, 1000, steps...)} {
		var html, small bytes.Buffer
		if err := templates.RiderBook(p).Render(context.Background(), &html); err != nil {
			t.Fatal(err)
		}
		zip, err := gzip.NewWriterLevel(&small, 5) // as the server packs it
		if err != nil {
			t.Fatal(err)
		}
		zip.Write(html.Bytes())
		zip.Close()
		t.Logf("%s: %d bytes of HTML, %d packed", name, html.Len(), small.Len())
		if small.Len() > 30_000 {
			t.Errorf("%s: %d bytes packed, want at most 30,000", name, small.Len())
		}
	}
}

// What does not stand on the page is said, and in the file.
func TestABookSaysThatItShowsTheNewest(t *testing.T) {
	for _, c := range []struct {
		page templates.RiderBookPage
		want []string
	}{
		{lived(12, 40, "A4"), nil},
		{lived(13, 41, "A4"), []string{"The newest 12 of each. Save", "The newest 40 of 41. Save"}},
		{lived(41, 0, "A4"), []string{"The newest 12 of each. Save", "The newest 40 of 41. Save"}},
	} {
		var html bytes.Buffer
		if err := templates.RiderBook(c.page).Render(context.Background(), &html); err != nil {
			t.Fatal(err)
		}
		for _, words := range c.want {
			if !strings.Contains(html.String(), words) {
				t.Errorf("%d services: it does not say %q", len(c.page.Works), words)
			}
		}
		if n := strings.Count(html.String(), "The newest"); n != len(c.want) {
			t.Errorf("%d services: it says %d times that it has the newest, want %d", len(c.page.Works), n, len(c.want))
		}
		if f := c.page.File(dbtest.Now); len(f.Services) != len(c.page.Works) || len(f.RideHours) != len(c.page.Readings) {
			t.Errorf("the file has %d services and %d notes", len(f.Services), len(f.RideHours))
		}
	}
	cut := lived(1, 0, "A4")
	cut.LeftOut = &book.LeftOut{Services: 2, RideHours: 1}
	var html bytes.Buffer
	if err := templates.RiderBook(cut).Render(context.Background(), &html); err != nil || !strings.Contains(html.String(), "no room for the oldest: 2 services and 1 note of ride hours") {
		t.Errorf("it does not say what the file is without, %v", err)
	}
}

// The newest ride hours stand on the page of a unit, the others on pages behind it;
// each can be taken back where it stands.
func TestRideHoursGoBackPageByPage(t *testing.T) {
	c := newFrontDesk(t)
	unit := "/units/" + c.id(c.fork)
	b := lived(1, 2*hoursOnPage+5, "A4").Book
	content, err := b.File(dbtest.Now).JSON()
	if err != nil {
		t.Fatal(err)
	}
	content = bytes.ReplaceAll(content, []byte("TL-48 211"), []byte(c.digit("select serial from unit where id = $1", c.fork)))
	plan := c.postFiles("/units/read-book", []attached{{"file", content}}, "unit", c.id(c.fork)).want(303).to
	c.post(plan+"/apply", "shown", c.id(c.fork)).want(303)
	at, last, seen := unit, "", map[string]bool{}
	for _, want := range []int{hoursOnPage, hoursOnPage, 5} {
		p := c.get(at).want(200)
		options := p.Find("#ridden ~ details option:not([value=''])")
		if n := p.Find("#ridden ~ ul > li").Length(); n != want || options.Length() != want {
			t.Errorf("%s has %d ride hours and %d to take back, want %d", at, n, options.Length(), want)
		}
		for i := range options.Length() {
			last = options.Eq(i).AttrOr("value", "")
			seen[last] = true
		}
		if next, more := p.Find("#ridden ~ .links a").Attr("href"); more {
			at = next
		}
	}
	if len(seen) != 2*hoursOnPage+5 {
		t.Errorf("%d ride hours stand on the pages, want %d", len(seen), 2*hoursOnPage+5)
	}
	query := strings.TrimPrefix(at, unit)
	p := c.post(unit+"/hours/back"+query, "back.wrong", last, "back.why", "").want(422)
	if chosen := p.Find("select[name='back.wrong'] option[selected]").AttrOr("value", ""); p.wrong("back.why") == "" || chosen != last {
		t.Errorf("says %q of %q, want it of %q", p.wrong("back.why"), chosen, last)
	}
	c.post(unit+"/hours/back"+query, "back.wrong", last, "back.why", "typed for another").wantTo(unit + "?done=hours-back")
	c.get(at).wantWords("#ridden ~ ul", "taken back")
	page404(c.browser, unit+"?hours=999999", unit+"?hours=x")
}

// Of readings that do not agree the newest pairs stand there, and how many more.
func TestPairsThatDoNotAgreeAreFewOnAPage(t *testing.T) {
	c := newFrontDesk(t)
	p := lived(1, 12, "A4")
	since := interval.Day(dbtest.Now.AddDate(-1, 0, 0), time.UTC)
	for i := range p.Readings {
		p.Readings[i].Since, p.Readings[i].Hours = &since, float64(10+i%2*400) // 6 × 6 pairs are apart
	}
	content, err := p.Book.File(dbtest.Now).JSON()
	if err != nil {
		t.Fatal(err)
	}
	content = bytes.ReplaceAll(content, []byte("TL-48 211"), []byte(c.digit("select serial from unit where id = $1", c.fork)))
	plan := c.postFiles("/units/read-book", []attached{{"file", content}}, "unit", c.id(c.fork)).want(303).to
	c.post(plan+"/apply", "shown", c.id(c.fork)).want(303)
	page := c.get("/units/"+c.id(c.fork)).want(200).wantWords("#content", "And 26 earlier pairs of readings")
	if n := strings.Count(page.body, "These two do not agree"); n != 10 {
		t.Errorf("%d pairs stand there, want 10", n)
	}
}
