package web

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// overfull is a front desk with one mechanic, at 14:12 of a day that ends at
// 17:00, and four jobs of an hour promised for today: two of them find room.
func overfull(t *testing.T) (frontDesk, []int64) {
	t.Helper()
	c := promisingDesk(t)
	var visits []int64
	for i := range 4 {
		c.write(func(tx pgx.Tx, by history.By) error {
			id, err := job.TakeIn(context.Background(), tx, by, job.DropOff{
				CustomerID: c.customer, PromisedAt: dbtest.Now.Add(time.Duration(160+i) * time.Minute), Currency: "GBP", Zone: time.UTC,
				Units: []job.DropOffUnit{{NewUnit: customer.UnitDetails{Kind: "fork", ModelWords: fmt.Sprint("fork ", i), Serial: fmt.Sprint("S-", i)}, Symptoms: []string{"sticky"}, Services: []string{"other"}}},
			})
			visits = append(visits, id)
			return err
		})
	}
	return c, visits
}

// offered is the first promise that the page offers to move, and what its press
// sends.
func (c frontDesk) offered() (offer *goquery.Selection, to string, fields []string) {
	c.t.Helper()
	offer = c.get("/promises").want(200).Find(`[id^="move-"]`).First()
	form := offer.Find("form")
	for _, name := range []string{"version", "promise", "from", "reason"} {
		fields = append(fields, name, form.Find(`[name="`+name+`"]`).AttrOr("value", ""))
	}
	return offer, form.AttrOr("action", ""), fields
}

func TestTheFewestPromisesAreNamedAndMoved(t *testing.T) {
	c, _ := overfull(t)
	c.get("/board").want(200).wantWords("#board-broken", "2 jobs are not ready by the promise")
	c.as(owner).get("/review").want(200).wantWords("main", "2 jobs are not ready by the promise")
	p := c.get("/promises").want(200).wantWords("#promises-lead", "Move 2 promises, and all others hold")
	if n := p.Find(`[id^="move-"]`).Length(); n != 2 {
		t.Fatalf("%d promises are to move, want 2", n)
	}
	for range 2 {
		offer, to, fields := c.offered()
		at, err := time.Parse(time.RFC3339, fields[3])
		if err != nil {
			t.Fatal(err)
		}
		zone, err := time.LoadLocation("Europe/London")
		if err != nil {
			t.Fatal(err)
		}
		day := at.In(zone).Format("Mon 2 Jan, 15:04")
		if text := offer.Text(); !strings.Contains(text, "the work will be done by "+day) || !strings.Contains(text, "Move to "+day) {
			t.Errorf("the offer does not tell of %s: %s", day, text)
		}
		if link := offer.Find(`a[href^="sms:07700900118?body="]`).AttrOr("href", ""); !strings.Contains(link, "We%20promised%20your%20fork") {
			t.Errorf("the text is %q", link)
		}
		if n := offer.Find(`a[href^="mailto:"][href*="body="]`).Length(); n != 0 {
			t.Error("a mail of the desk’s own is offered beside the one that the press causes")
		}
		c.post(to, fields...).wantTo("/promises?done=moved")
		c.get(strings.TrimSuffix(to, "/promise")).want(200).wantWords("#given + ul", "Not ready by then: ")
	}
	c.get("/promises").want(200).wantWords("#promises-lead", "every promise can be kept").wantWords("main", "nothing to move")
	if words := c.get("/board").words("#board-broken"); strings.TrimSpace(words) != "" {
		t.Errorf("the board says %q", words)
	}
	c.as(mechanic).get("/promises").want(403)
}

func TestTheSamePromiseIsNotMovedByTwo(t *testing.T) {
	c, _ := overfull(t)
	_, to, fields := c.offered()
	c.post(to, fields...).wantTo("/promises?done=moved")
	fields[3], fields[7] = "2026-10-30T16:00:00Z", "told them"
	if p := c.post(to, fields...).want(409); p.value("reason") != "told them" {
		t.Errorf("why is gone: %q", p.value("reason"))
	}
	_, to, fields = c.offered()
	fields[7] = ""
	if p := c.post(to, fields...).want(422); !strings.Contains(p.wrong("reason"), "Say why") {
		t.Errorf("without a reason it says %q", p.wrong("reason"))
	}
}

func TestWhatIsPinnedAndMovesIsPinnedNoMore(t *testing.T) {
	c, visits := overfull(t)
	for _, id := range visits[1:] {
		c.write(func(tx pgx.Tx, by history.By) error {
			v, err := job.Visit(context.Background(), tx, id)
			if err != nil {
				return err
			}
			return job.PinJob(context.Background(), tx, by, job.Pin{JobID: v.Jobs[0].ID, Kind: job.NextUp})
		})
	}
	pinned := 0
	for range 2 {
		offer, to, fields := c.offered()
		if strings.Contains(offer.Text(), "It is pinned") {
			pinned++
		}
		c.post(to, fields...).wantTo("/promises?done=moved")
	}
	if pinned != 1 { // the other was not
		t.Errorf("of %d it is said that a pin goes, want 1", pinned)
	}
	c.get("/promises").want(200).wantWords("#promises-lead", "every promise can be kept")
}
