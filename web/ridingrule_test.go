package web

import (
	"context"
	"testing"
	"time"

	"damperdesk/internal/interval"
)

func TestWhatHappenedIsSaidOnTheUnitsPage(t *testing.T) {
	c := lastYear(t)
	b, at := c.as(mechanic), unitURL(c)
	if p := b.post(at+"/happened", "on", "2026-10-01").want(422); p.wrong("what") == "" || p.value("on") != "2026-10-01" {
		t.Errorf("nothing chosen: beside it %q, the day %q", p.wrong("what"), p.value("on"))
	}
	if p := b.post(at+"/happened", "what", "stored").want(422); p.wrong("on") == "" {
		t.Error("stored since nobody knows when is not refused")
	}
	b.post(at+"/happened", "what", "crash").wantTo(at + "?done=happened")
	b.get(at).wantWords("[aria-labelledby=happened]", "asks for crown-steerer inspection at once").
		wantWords("[aria-labelledby=happened]", "Do not ride it").wantWords("[aria-labelledby=due]", "Crown-steerer inspection")
}

func TestACrashAtDropOffIsWrittenDown(t *testing.T) {
	c := newFrontDesk(t)
	c.post("/drop-off", c.fields("unit0.symptoms", "crash", "unit0.happened", "jet wash", "unit0.hours", "40", "unit0.ridden", "wet and gritty")...).want(303)
	events, err := interval.Events(context.Background(), c.pool, time.UTC, c.fork)
	if err != nil || len(events) != 2 {
		t.Errorf("got %+v, %v; want the crash and the jet wash", events, err)
	}
	readings, err := interval.Readings(context.Background(), c.pool, c.fork)
	if err != nil || len(readings) != 1 || len(readings[0].Conditions) != 1 {
		t.Errorf("got %+v, %v; want 40 h in wet grit", readings, err)
	}
}

func TestTheOwnerSetsWhatRidingCountsFor(t *testing.T) {
	b := lastYear(t).as(owner)
	b.get("/intervals").want(200).wantWords("[aria-labelledby=counts]", "Wet and gritty")
	if p := b.post("/intervals/counts", "counts.e-bike", "9", "counts.e-bike.version", "1").want(422); p.wrong("counts.e-bike") == "" || p.value("counts.e-bike") != "9" {
		t.Errorf("beside the e-bike stands %q, in it %q", p.wrong("counts.e-bike"), p.value("counts.e-bike"))
	}
	b.post("/intervals/counts", "counts.e-bike", "1.4", "counts.e-bike.version", "1").wantTo("/intervals?done=counts")
	b.post("/intervals/season", "version", "1", "season_from", "29", "season_from_month", "2", "season_to", "1", "season_to_month", "10").want(422)
	if p := b.post("/intervals/event", "kind", "crash", "service", "full", "version", "0", "days", "soon").want(422); p.wrong("days") == "" || p.value("days") != "soon" {
		t.Errorf("beside the days stands %q", p.wrong("days"))
	}
	b.post("/intervals/event", "kind", "crash", "service", "full", "version", "0", "days", "0").wantTo("/intervals?done=event")
	b.get("/intervals/event?kind=crash&service=full").want(200)
	page404(b, "/intervals/event?kind=theft&service=full")
}
