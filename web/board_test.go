package web

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/shop"
)

func TestHomeIsWhereTheWorkIs(t *testing.T) {
	s := server(t)
	s.as(owner).get("/").wantTo("/shop") // until the first ticket
	s.as(desk).get("/").wantTo("/board")
	s.counter().takeIn("Sill 34", dbtest.Now.AddDate(0, 0, 3))
	for _, c := range []struct {
		roles []string
		to    string
	}{
		{[]string{mechanic}, "/bench"}, {[]string{desk}, "/board"}, {[]string{owner}, "/board"}, {[]string{mechanic, owner}, "/board"},
	} {
		s.as(c.roles...).get("/").wantTo(c.to)
	}
	s.anybody().get("/").want(401)
}

func TestAnEmptyBoardSaysSo(t *testing.T) {
	s := server(t)
	s.as(desk).get("/board").want(200).wantWords(".lead", "Nothing is here").wantWords(".nothing", "Take a unit in")
	if got := s.as(mechanic).get("/board").words(".nothing"); strings.Contains(got, "Take a unit in") {
		t.Errorf("a mechanic is asked to take one in: %q", got)
	}
}

// tickets are the numbers on the board from top to bottom.
func tickets(p *page) string {
	var list []string
	p.Find(".board .no a").Each(func(_ int, a *goquery.Selection) { list = append(list, a.Text()) })
	return strings.Join(list, " ")
}

func TestTheBoardIsInPromisedOrderByDay(t *testing.T) {
	c := server(t).counter()
	later := c.takeIn("Tindra Kelp", dbtest.Now.Add(72*time.Hour))
	today := c.takeIn("Orrery Node", dbtest.Now.Add(time.Hour))
	next := c.takeIn("Halvard Sill", tomorrow)
	p := c.as(desk).get("/board").want(200)
	if got, want := tickets(p), fmt.Sprint(today.Number, " ", next.Number, " ", later.Number); got != want {
		t.Errorf("the board reads %s, want %s", got, want)
	}
	var days []string
	p.Find(".board .day").Each(func(_ int, d *goquery.Selection) { days = append(days, d.Text()) })
	if got, want := strings.Join(days, "; "), "Today, Tuesday 13 October; Tomorrow, Wednesday 14 October; Friday 16 October"; got != want {
		t.Errorf("days %q, want %q", got, want)
	}
	p.wantWords(".lead", "3 open, 1 tight.")
	p.wantWords(".board tbody:nth-of-type(1)", "15:12").wantWords(".board tbody:nth-of-type(1)", "stuck down").wantWords(".board tbody:nth-of-type(1) .half", "tight")
	p.wantWords(".clock", "14:12 Tuesday 13 October")
	if to := p.Find(".board .no a").First().AttrOr("href", ""); to != jobURL(today) {
		t.Errorf("the first ticket leads to %q", to)
	}
	if live := p.Find("body").AttrOr("data-live", ""); live != "board" {
		t.Errorf("the page follows %q", live)
	}
}

func TestTheBoardFilters(t *testing.T) {
	c := server(t).counter()
	mine, free := c.takeIn("Tindra Kelp", tomorrow), c.takeIn("Orrery Node", tomorrow)
	m := c.as(mechanic)
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		if err := job.Assign(ctx, tx, by(), mine.ID, mine.Version, &m.person.ID); err != nil {
			return err
		}
		return job.Hold(ctx, tx, by(), mine.ID, job.WaitingOnCustomer, "", nil)
	}, desk)
	b := c.as(desk)
	for path, want := range map[string]string{
		"/board?who=" + fmt.Sprint(m.person.ID):             fmt.Sprint(mine.Number),
		"/board?who=none":                                   fmt.Sprint(free.Number),
		"/board?stage=waiting+on+customer":                  fmt.Sprint(mine.Number),
		"/board?stage=dropped+off":                          fmt.Sprint(free.Number),
		"/board?who=none&stage=waiting+on+customer":         "",
		"/board?who=" + fmt.Sprint(m.person.ID) + "&stage=": fmt.Sprint(mine.Number),
	} {
		p := b.get(path).want(200)
		if got := tickets(p); got != want {
			t.Errorf("%s shows %q, want %q", path, got, want)
		}
		if n := p.Find(".filters [aria-current]").Length(); n != 2 {
			t.Errorf("%s marks %d choices, want one of each filter", path, n)
		}
	}
	b.get("/board").wantWords(".filters", m.person.Name+" 1").wantWords(".filters", "nobody yet 1")
	b.get("/board").wantWords(".board .gem-open", "waiting on customer since today")
	page404(b, "/board?stage=lost", "/board?who=x", "/board?who=-1")
}

func TestTheBoardSaysWhenTheShopIsOpen(t *testing.T) {
	s := server(t)
	var stands []shop.Opening
	hours := func(open, close int) {
		was := stands
		stands = []shop.Opening{{Weekday: time.Tuesday, OpenMin: open, CloseMin: close}}
		s.write(func(tx pgx.Tx, by history.By) error {
			return shop.SetHours(context.Background(), tx, by, was, stands)
		})
	}
	hours(600, 1080)
	s.as(desk).get("/board").wantWords(".clock", "open until 18:00")
	hours(600, 840)
	s.as(desk).get("/board").wantWords(".clock", "opens Tue 20 Oct, 10:00")
}
