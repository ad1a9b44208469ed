package web

import (
	"context"
	"strings"
	"testing"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/interval"
)

// option is the value of an option of a select by some of its words.
func (p *page) option(name, words string) string {
	p.t.Helper()
	for _, o := range p.Find("select[name='" + name + "'] option").EachIter() {
		if strings.Contains(o.Text(), words) {
			return o.AttrOr("value", "")
		}
	}
	p.t.Fatalf("%s has no option of %q", name, words)
	return ""
}

// 400 typed for 40, of 50 h: overdue, until it is taken back.
func TestWrongHoursAreTakenBackOnTheUnitsPage(t *testing.T) {
	c := lastYear(t)
	at := unitURL(c)
	desks, mechanics := c.as(desk), c.as(mechanic)
	if p := desks.get(at).want(200); p.Find("form[action$='/hours/back']").Length() != 0 {
		t.Error("there is something to take back before anything was said")
	}
	desks.post(at+"/hours", "hours", "400").want(303)
	p := mechanics.get(at).want(200).wantWords("[aria-labelledby=due]", "400 of 50 h")
	wrong := p.option("back.wrong", "400 h")
	for _, bad := range []struct{ wrong, why, field, says string }{
		{"", "typed 400 for 40", "back.wrong", "Choose which one"},
		{wrong, "", "back.why", "Say what is wrong"},
		{"all", "typed 400 for 40", "back.wrong", "whole number"},
	} {
		p := mechanics.post(at+"/hours/back", "back.wrong", bad.wrong, "back.why", bad.why).want(422)
		if !strings.Contains(p.wrong(bad.field), bad.says) || p.value("back.why") != bad.why || p.Find("details[open] form[action$='/hours/back']").Length() != 1 {
			t.Errorf("%+v: beside it %q, the reason %q, open %d", bad, p.wrong(bad.field), p.value("back.why"), p.Find("details[open] form[action$='/hours/back']").Length())
		}
	}
	mechanics.get(at).wantWords("[aria-labelledby=due]", "400 of 50 h")
	mechanics.post(at+"/hours/back", "back.wrong", wrong, "back.why", "typed 400 for 40").wantTo(at + "?done=hours-back")
	p = desks.get(at+"?done=hours-back").want(200).wantWords(".told", "Taken back.").
		wantWords("[aria-labelledby=ridden] .state", "400 h since").wantWords("[aria-labelledby=ridden] .state", ", taken back").
		wantWords("[aria-labelledby=ridden]", ": typed 400 for 40")
	if strings.Contains(p.words("[aria-labelledby=due]"), "400") || p.Find("form[action$='/hours/back']").Length() != 0 {
		t.Errorf("due by %q", p.words("[aria-labelledby=due]"))
	}
	desks.post(at+"/hours/back", "back.wrong", wrong, "back.why", "typed 400 for 40").want(409).wantWords("#content", "taken back already")
	c.as(owner).post(at+"/hours", "hours", "40").want(303)
	owners := c.as(owner)
	owners.post(at+"/hours/back", "back.wrong", owners.get(at).option("back.wrong", "40 h"), "back.why", "of another").want(303)
	desks.post(at+"/hours/back", "back.wrong", "999999", "back.why", "x").want(404)
}

func TestARiderTakesBackInTheBookWhatTheyAddedThere(t *testing.T) {
	c := newFrontDesk(t)
	unit, path := "/units/"+c.id(c.fork), c.bookPath()
	c.post(unit+"/hours", "hours", "31").want(303)
	s := c.anybody()
	if s.get(path).want(200).Find("form[action$='/hours/back']").Length() != 0 {
		t.Error("what the shop wrote can be taken back in the book")
	}
	s.post(path+"/hours", "hours", "400").want(303)
	p := s.get(path)
	wrong := p.option("back.wrong", "400 h")
	if n := p.Find("select[name='back.wrong'] option").Length(); n != 2 {
		t.Errorf("%d can be chosen, want the rider's own alone", n-1)
	}
	if p := s.post(path+"/hours/back", "back.wrong", "").want(422); p.wrong("back.wrong") == "" {
		t.Error("nothing is said of none chosen")
	}
	s.post(path+"/hours/back", "back.wrong", c.id(c.firstReading())).want(404)
	intent := s.get(path).intent(path + "/hours/back")
	for range 2 {
		s.post(path+"/hours/back", "intent", intent, "back.wrong", wrong).wantTo(path + "?done=hours-back")
	}
	s.get(path+"?done=hours-back").want(200).wantWords("#content", "400 h since the last service elsewhere, taken back on 13 October").wantWords(".told", "Taken back.")
	if file := s.get(path + "/book.json").want(200).body; strings.Contains(file, "400") || !strings.Contains(file, `"hours": 31`) {
		t.Errorf("the file: %s", file)
	}
	c.get(unit).wantWords("[aria-labelledby=ridden]", "by the rider, in the book, Tue 13 Oct")
	s.post("/b/"+strings.Repeat("x", 43)+"/hours/back", "back.wrong", wrong).want(404)
	var actors int
	if err := c.pool.QueryRow(context.Background(), "select count(*) from event where kind = 'ride hours taken back' and actor_id is not null").Scan(&actors); err != nil || actors != 0 {
		t.Errorf("%d events with an actor, %v", actors, err)
	}
}

// firstReading is the oldest reading of the fork.
func (c frontDesk) firstReading() int64 {
	c.t.Helper()
	list, err := interval.Readings(context.Background(), c.pool, c.fork)
	if err != nil || len(list) == 0 {
		c.t.Fatal(list, err)
	}
	return list[0].ID
}

func TestAServiceBookIsTakenBackAtTheDesk(t *testing.T) {
	c := newFrontDesk(t)
	unit := "/units/" + c.id(c.fork)
	wrong := worn()
	wrong.Facts.Serial = c.digit("select serial from unit where id = $1", c.fork)
	content, err := wrong.Book.File(dbtest.Now).JSON()
	if err != nil {
		t.Fatal(err)
	}
	plan := c.postFiles("/units/read-book", []attached{{"file", content}}, "unit", c.id(c.fork)).want(303).to
	c.post(plan+"/apply", "shown", c.id(c.fork)).want(303)
	p := c.get(unit).want(200).wantWords("#elsewhere", "Done elsewhere")
	which := p.option("book.which", "40 services of Weir Lane Cycles")
	for _, bad := range []struct{ which, why, field, says string }{
		{"", "another fork", "book.which", "Choose which one"}, {which, "", "book.why", "Say why"},
	} {
		p := c.post(unit+"/book/back", "book.which", bad.which, "book.why", bad.why).want(422)
		if !strings.Contains(p.wrong(bad.field), bad.says) || p.value("book.why") != bad.why || p.Find("details[open] form[action$='/book/back']").Length() != 1 {
			t.Errorf("%+v: beside it %q, the reason %q", bad, p.wrong(bad.field), p.value("book.why"))
		}
	}
	m := c.as(mechanic)
	if m.get(unit).want(200).Find("form[action$='/book/back']").Length() != 0 {
		t.Error("a mechanic is offered to take a book back")
	}
	m.post(unit+"/book/back", "book.which", which, "book.why", "x").want(403)
	c.post(unit+"/book/back", "book.which", which, "book.why", "of another fork").wantTo(unit + "?done=book-back")
	p = c.get(unit+"?done=book-back").want(200).wantWords(".told", "The service book is taken back.").wantWords("[aria-labelledby=elsewhere]", ": of another fork")
	if n := p.Find("[aria-labelledby=elsewhere] .state").Length(); n != 41 {
		t.Errorf("%d states stand in what was done elsewhere, want the 40 services and the book as taken back", n)
	}
	c.post(unit+"/book/back", "book.which", which, "book.why", "again").want(409).wantWords("#content", "taken back already")
	if file := c.get(unit + "/book.json").want(200).body; !strings.Contains(file, `"services": []`) {
		t.Errorf("the file has services that were taken back: %s", file)
	}
	again := c.postFiles("/units/read-book", []attached{{"file", content}}, "unit", c.id(c.fork)).want(303).to
	c.get(again).want(200).wantWords("#content", "Taken back here before, and left out: 40 services.")
}
