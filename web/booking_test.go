package web

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"damperdesk/internal/job"
)

// dbtest.Now is Tuesday 13 October 2026.
func TestBookedVisitComesInWithOnePress(t *testing.T) {
	c := newFrontDesk(t)
	booked := func(changes ...string) *page {
		return c.post("/drop-off", c.fields(append([]string{"press", "book", "booked", "2026-10-14", "terms", "", "came", "post"}, changes...)...)...)
	}
	if p := booked("booked", "").want(http.StatusUnprocessableEntity); !strings.Contains(p.wrong("booked"), "which day") {
		t.Errorf("beside the day stands %q", p.wrong("booked"))
	}
	if p := booked("press", "take in").want(http.StatusUnprocessableEntity); !strings.Contains(p.wrong("booked"), "press “Book it”") || p.value("booked") != "2026-10-14" {
		t.Errorf("beside the day %q stands %q", p.value("booked"), p.wrong("booked"))
	}
	if p := booked("booked", "2026-10-16").want(http.StatusUnprocessableEntity); !strings.Contains(p.wrong("promised"), "not here by then") {
		t.Errorf("beside the promise stands %q", p.wrong("promised"))
	}
	visit := booked().want(303).to
	p := c.get(visit).want(200)
	p.wantWords("#booking-part", "For Wednesday 14 October")
	p.wantWords("#booking-part", "to come")
	c.get("/board").want(200).wantWords(".board tbody", "comes Wed")
	p = c.post(visit+"/here", "came", "post", "termsid", "1", "terms", "").want(http.StatusUnprocessableEntity)
	if !strings.Contains(p.wrong("terms"), "who accepted") {
		t.Errorf("beside the terms stands %q", p.wrong("terms"))
	}
	c.post(visit+"/here", "came", "post", "termsid", "1", "terms", "Odette Marsh").want(303)
	rows, err := job.Board(context.Background(), c.pool, job.BoardFilter{})
	if err != nil || len(rows) != 1 || rows[0].Stage != job.Arrived {
		t.Errorf("the board has %+v, %v; want it arrived", rows, err)
	}
	if c.get(visit).want(200).Find("#booking-part").Length() != 0 {
		t.Error("it is still shown as booked")
	}
}

func TestBookingIsMovedAndWhatIsTypedStays(t *testing.T) {
	c := newFrontDesk(t)
	visit := c.post("/drop-off", c.fields("press", "book", "booked", "2026-10-14", "terms", "")...).want(303).to
	version := c.get(visit).want(200).value("version")
	p := c.post(visit+"/rebook", "version", version, "booked", "2026-10-20", "promised", "2026-10-19T17:00").want(http.StatusUnprocessableEntity)
	if p.value("booked") != "2026-10-20" || p.wrong("promised") == "" {
		t.Errorf("booked %q, beside the promise %q", p.value("booked"), p.wrong("promised"))
	}
	c.post(visit+"/rebook", "version", version, "booked", "2026-10-20", "promised", "2026-10-22T17:00").want(303)
	c.get(visit).want(200).wantWords("#booking-part", "For Tuesday 20 October")
	c.post(visit+"/rebook", "version", version, "booked", "2026-10-21", "promised", "2026-10-22T17:00").want(http.StatusConflict)
}

func TestAnswersToTheSymptomsStandOnTheJob(t *testing.T) {
	c := newFrontDesk(t)
	visit := c.post("/drop-off", c.fields("unit0.symptoms", "scratch", "unit0.ask.scratch.nail", "yes", "unit0.ask.dives.when", "on every bump")...).want(303).to
	j := c.get(visit).Find(`tbody a[href^="/jobs/"]`).First().AttrOr("href", "")
	p := c.get(j).want(200)
	p.wantWords("main", "Does it catch a fingernail? yes")
	if strings.Contains(p.words("main"), "on every bump") {
		t.Error("an answer stands there to what was not named")
	}
	c.get(j+"/ticket").want(200).wantWords(".ticket", "Does it catch a fingernail? yes")
}
