package web

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
)

// lastYear has a fork whose lower-leg service was done and picked up at
// dbtest.Now; since then a year and five days went by.
func lastYear(t *testing.T) counter {
	t.Helper()
	s := server(t)
	c := s.counter()
	c.write(func(tx pgx.Tx, by history.By) error { return interval.Install(context.Background(), tx, by) })
	j := c.benchJob()
	s.fromStartToReady(j)
	s.as(desk).post(jobURL(j)+"/hand-over", "how", job.PickedUp).want(303)
	s.pass(370 * 24 * time.Hour)
	return c
}

func unitURL(c counter) string {
	c.t.Helper()
	var id int64
	if err := c.pool.QueryRow(context.Background(), "select min(id) from unit").Scan(&id); err != nil {
		c.t.Fatal(err)
	}
	return fmt.Sprint("/units/", id)
}

func TestTheDueListSaysWhomToRingAndWhy(t *testing.T) {
	c := lastYear(t)
	b := c.as(desk)
	p := b.get("/due").want(200).wantWords("h1", "Due list").wantWords(".lead", "1 due.")
	row := ".dues tbody tr"
	for _, want := range []string{"Halvard Sill", "Odette Marsh", "Lower-leg service", "12 months on 13 October", "no hours known", "due", "07700 900118"} {
		p.wantWords(row, want)
	}
	if p.Find(row+` a[href="tel:07700900118"]`).Length() != 1 {
		t.Error("the phone number does not dial")
	}
	to := p.Find(row+` a[href^="/drop-off"]`).AttrOr("href", "")
	d := b.get(to).want(200)
	if d.Find(`[name="unit0.unit"]:checked`).AttrOr("value", "") != strings.TrimPrefix(unitURL(c), "/units/") || d.Find(`[value="lower-leg"]`).AttrOr("checked", "no") == "no" {
		t.Errorf("%s does not choose the unit and the service", to)
	}
	b.get("/due?state=soon").wantWords("main", "Nothing on the list fits both.")
	b.get("/due?service=lower-leg&state=due").wantWords(row, "Halvard Sill")
	page404(b, "/due?page=x", "/due?page=0", "/due?page=9223372036854775807")
	b.get("/due?page=99").want(200).wantWords(row, "Halvard Sill")
	c.as(mechanic).get("/due").want(403)
}

func TestAnEmptyDueListTeaches(t *testing.T) {
	b := server(t).as(desk)
	b.get("/due").want(200).wantWords(".nothing", "Nothing has been taken in yet.")
}

// 43 of 50 h is in the last fifth: soon; the year has ended: due. The unit's
// page keeps what was typed where it cannot be taken.
func TestAnybodyWritesDownRideHours(t *testing.T) {
	c := lastYear(t)
	b, at := c.as(mechanic), unitURL(c)
	b.get(at).want(200).wantWords("[aria-labelledby=due]", "12 months on 13 October").wantWords("[aria-labelledby=ridden]", "Nobody has said")
	for _, bad := range []struct{ hours, rides, each, since, field, says string }{
		{"", "", "", "", "hours", "Say how many hours it was"},
		{"lots", "", "", "", "hours", "number"},
		{"-1", "", "", "", "hours", "0 to 5000"},
		{"90000", "", "", "", "hours", "0 to 5000"},
		{"", "3", "", "", "each", "how long each ride is"},
		{"", "", "90 min", "", "rides", "how many rides"},
		{"", "3", "often", "", "each", "90 min"},
		{"", "50", "1", "", "rides", "0 to 21"},
		{"43", "", "", "2027-12-01", "since", "still to come"},
		{"43", "", "", "yesterday", "since", "Say a day"},
		{"60", "", "", "2027-10-18", "hours", "have only"},
	} {
		p := b.post(at+"/hours", "hours", bad.hours, "rides", bad.rides, "each", bad.each, "since", bad.since).want(422)
		if !strings.Contains(p.wrong(bad.field), bad.says) {
			t.Errorf("%+v: beside %s stands %q", bad, bad.field, p.wrong(bad.field))
		}
		if p.value("hours") != bad.hours || p.value("rides") != bad.rides || p.value("each") != bad.each {
			t.Errorf("%+v: what was typed is gone", bad)
		}
	}
	b.post(at+"/hours", "hours", "43", "rides", "2", "each", "1:30", "source", "bike computer").wantTo(at + "?done=hours")
	b.get(at+"?done=hours").wantWords(".told", "Written down.").wantWords("[aria-labelledby=ridden]", "43 h since 13 October 2026").
		wantWords("[aria-labelledby=ridden]", "2 rides a week of 1 h 30 min").wantWords("[aria-labelledby=ridden]", "bike computer").
		wantWords("[aria-labelledby=due]", "43 of 50 h")
	page404(b, "/units/999999")
	b.post("/units/999999/hours", "hours", "4").want(404)
}

func TestRideHoursAreAskedAtDropOff(t *testing.T) {
	c := newFrontDesk(t)
	p := c.post("/drop-off", c.fields("unit0.hours", "a few", "unit0.rides", "2")...).want(422)
	if p.wrong("unit0.hours") == "" || p.wrong("unit0.each") == "" || p.value("unit0.hours") != "a few" {
		t.Errorf("beside the hours %q, the ride %q; the field has %q", p.wrong("unit0.hours"), p.wrong("unit0.each"), p.value("unit0.hours"))
	}
	c.post("/drop-off", c.fields("unit0.hours", "61", "unit0.rides", "2", "unit0.each", "90")...).want(303)
	readings, err := interval.Readings(context.Background(), c.pool, c.fork)
	if err != nil || len(readings) != 2 || readings[0].Hours != 61 || readings[0].Since != nil || readings[1].HoursARide != 1.5 {
		t.Errorf("readings %+v, %v; want 61 h and rides of 1.5 h", readings, err)
	}
}

func TestTheOwnerSetsIntervals(t *testing.T) {
	c := lastYear(t)
	b := c.as(owner)
	b.get("/intervals").want(200).wantWords("[aria-labelledby=every]", "50 h or 12 months").wantWords("[aria-labelledby=single]", "rule of its own")
	at := "/intervals/rule?service=lower-leg"
	p := b.get(at).want(200)
	version := p.value("version")
	p = b.post("/intervals", "service", "lower-leg", "model", "0", "version", version, "hours", "fifty", "months", "6").want(422)
	if p.wrong("hours") == "" || p.value("hours") != "fifty" || p.value("months") != "6" {
		t.Errorf("beside the hours %q; the fields have %q and %q", p.wrong("hours"), p.value("hours"), p.value("months"))
	}
	p = b.post("/intervals", "service", "lower-leg", "model", "0", "version", version, "hours", "3000", "months", "6").want(422)
	if p.wrong("hours") == "" {
		t.Error("3000 hours are not refused")
	}
	b.post("/intervals", "service", "lower-leg", "model", "0", "version", version, "hours", "40", "season", "yes").wantTo("/intervals?done=kept")
	b.get("/intervals?done=kept").wantWords(".told", "kept").wantWords("[aria-labelledby=every]", "40 h or once each off-season")
	b.post("/intervals", "service", "lower-leg", "model", "0", "version", version, "hours", "45").want(409)
	b.get("/due").wantWords(".dues tbody tr", "end of season 31 October")
	page404(b, "/intervals/rule?service=polish", "/intervals/rule?service=lower-leg&model=99", "/intervals/rule?service=lower-leg&model=x", "/intervals/rule")
	b.post("/intervals", "service", "polish", "model", "0", "version", "0", "hours", "45").want(404)
	c.as(desk).get("/intervals").want(403)
}

// A rule for one model stands in place of the one for every model until it is
// taken away.
func TestARuleForOneModelIsTakenAway(t *testing.T) {
	c := lastYear(t)
	b := c.as(owner)
	var model int64
	if err := c.pool.QueryRow(context.Background(), "select id from model").Scan(&model); err != nil {
		t.Fatal(err)
	}
	id := fmt.Sprint(model)
	b.post("/intervals", "service", "lower-leg", "model", id, "version", "0", "months", "6").wantTo("/intervals?done=kept")
	b.get("/intervals").wantWords("[aria-labelledby=single]", "Halvard Sill, Lower-leg service6 months")
	p := b.get("/intervals/rule?service=lower-leg&model="+id).want(200).wantWords("form.plain", "for every model it is 50 h or 12 months")
	b.post("/intervals", "press", "drop", "service", "lower-leg", "model", id, "version", p.value("version")).wantTo("/intervals?done=dropped")
	b.get("/intervals?done=dropped").wantWords("[aria-labelledby=single]", "rule of its own")
}
