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
		"/board?day=tomorrow":                               fmt.Sprint(mine.Number, " ", free.Number),
		"/board?day=today":                                  "",
		"/board?q=ORRERY+node":                              fmt.Sprint(free.Number),
		"/board?q=" + fmt.Sprint(mine.Number) + "&who=none": "",
	} {
		p := b.get(path).want(200)
		if got := tickets(p); got != want {
			t.Errorf("%s shows %q, want %q", path, got, want)
		}
		if n := p.Find(".filters [aria-current]").Length(); n != 3 {
			t.Errorf("%s marks %d choices, want one of each filter", path, n)
		}
	}
	b.get("/board").wantWords(".filters", m.person.Name+" 1").wantWords(".filters", "nobody yet 1")
	b.get("/board").wantWords(".board .gem-open", "waiting on customer since today")
	page404(b, "/board?stage=lost", "/board?day=never", "/board?who=x", "/board?who=-1")
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

// openAllDay has the shop open every day from 9 to 18.
func (s *site) openAllDay() {
	var week []shop.Opening
	for day := range time.Weekday(7) {
		week = append(week, shop.Opening{Weekday: day, OpenMin: 540, CloseMin: 1080})
	}
	s.write(func(tx pgx.Tx, by history.By) error { return shop.SetHours(context.Background(), tx, by, nil, week) })
}

func TestTheBoardSaysWhatWillMissBeforeItIsLate(t *testing.T) {
	c := server(t).counter()
	c.as(mechanic)
	c.openAllDay()
	soon := c.takeIn("Orrery Node", dbtest.Now.Add(15*time.Minute)) // takes longer than that
	c.takeIn("Tindra Kelp", dbtest.Now.Add(72*time.Hour))
	b := c.as(desk)
	p := b.get("/board").want(200).wantWords(".lead", "2 open, 1 going to miss it.")
	p.wantWords(".board tbody:nth-of-type(1) .peak", "will miss by").wantWords(".board tbody:nth-of-type(1) .eta", "today")
	p.wantWords(".board tbody:nth-of-type(2) .over", "on time").wantWords(".board tbody:nth-of-type(2) .eta", "one job before it")
	if got := tickets(b.get("/board?trouble=yes").want(200)); got != fmt.Sprint(soon.Number) {
		t.Errorf("in trouble is %q, want %d alone", got, soon.Number)
	}
	if got := tickets(b.get("/board?trouble=yes&day=later").want(200)); got != "" {
		t.Errorf("in trouble and promised later is %q", got)
	}
	b.post(jobURL(soon)+"/pin", "pin", job.PinnedToDay, "day", "2026-10-01").want(422)
	b.post(jobURL(soon)+"/pin", "pin", job.NextUp, "reason", "race on Sunday").wantTo(jobURL(soon) + "?done=pin")
	b.get(jobURL(soon)).wantWords("#standing-part", "next up").wantWords("#standing-part", "race on Sunday")
	b.get("/board").wantWords(".board tbody:nth-of-type(1) .over", "next up")
}

func TestTheWallHasNoNamesAndTurns(t *testing.T) {
	c := server(t).counter()
	for i := range 12 {
		c.takeIn("Tindra Kelp", tomorrow.Add(time.Duration(i)*time.Minute))
	}
	p := c.as(mechanic).get("/board/wall").want(200).wantWords("[data-wall-page]", "Page 1 of 2, turns every 15 seconds.")
	if n := p.Find("tbody").Length(); n != 2 || p.Find("tbody[hidden] tr").Length() != 2 || p.Find("tbody:not([hidden]) tr").Length() != 10 {
		t.Errorf("%d pages, %d rows of them hidden", n, p.Find("tbody[hidden] tr").Length())
	}
	if text, rider := p.Find("body").Text(), c.as(desk).get("/board").words(".board small"); !strings.Contains(rider, "Odette Marsh") || strings.Contains(text, "Odette Marsh") {
		t.Errorf("the wall says %q", text)
	}
	second := c.as(mechanic).get("/board/wall?page=2")
	if n := second.Find("tbody:not([hidden]) tr").Length(); n != 2 || !strings.Contains(second.Find("noscript").Text(), "15;url=/board/wall?page=1") {
		t.Errorf("%d rows on the second page, and then %s", n, second.Find("noscript").Text())
	}
	c.as(mechanic).get("/board/wall?page=99").wantWords("[data-wall-page]", "Page 2 of 2")
	c.anybody().get("/board/wall").want(401)
	screen := c.enrolled("by the door") // where nobody is signed in
	screen.get("/board/wall").want(200)
	screen.get("/board").want(401)
}
