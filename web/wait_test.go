package web

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/customer"
)

// Fifteen minutes of standing at the final check: common practice (no source).
func TestAWaitTellsWhenItIsOver(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.benchJob(), s.as(mechanic)
	_, path := c.onBench(b, j, "V4")

	p := b.get(path).want(http.StatusOK).wantWords(".spec .value", "15 min").wantWords(".spec .stands", "till 14:27")
	mark := p.Find(".spec [data-wait]")
	if till, now := mark.AttrOr("data-wait", ""), mark.AttrOr("data-now", ""); till != "2026-10-13T13:27:00Z" || now != "2026-10-13T13:12:00Z" {
		t.Errorf("the page counts from %s to %s, want a quarter of an hour", now, till)
	}
	p = b.post(path+"/sign", "intent", p.intent(path+"/sign")).want(http.StatusUnprocessableEntity)
	if got := p.wrong("reason"); !strings.HasPrefix(got, "Of 15 minutes 15 are left") {
		t.Errorf("beside the reason: %q", got)
	}

	s.pass(10 * time.Minute)
	p = b.get(path).wantWords(".spec .stands", "till 14:27")
	b.post(path+"/begin", "intent", p.intent(path+"/sign")).wantTo(path)
	b.get(path).wantWords(".spec .stands", "till 14:37")
	s.pass(15 * time.Minute)
	p = b.get(path).wantWords(".spec .stands", "time is up")
	if to := b.post(path+"/sign", "intent", p.intent(path+"/sign")).want(http.StatusSeeOther).to; to == path {
		t.Error("it is not signed when the time is up")
	}
}

func TestTheOtherSheetsOfAMechanicAreAtHand(t *testing.T) {
	s := server(t)
	c := s.counter()
	first, b := c.benchJob(), s.as(mechanic)
	_, path := c.onBench(b, first, "V4")
	if p := b.get(path); p.Find(".parked").Length() != 0 {
		t.Error("the only sheet counts as parked")
	}
	second := c.takeInUnit(customer.UnitDetails{Kind: "fork", ModelID: *first.ModelID}, "lower-leg")
	_, other := c.onBench(b, second, "S4")
	p := b.get(other).want(http.StatusOK).wantWords(".parked summary", "1 parked").wantWords(".parked summary", "till 14:27")
	if to := p.Find(".parked li a").AttrOr("href", ""); to != path {
		t.Errorf("the parked sheet goes on at %s, want the step it stands at, %s", to, path)
	}
	if p := s.as(mechanic).get(other); p.Find(".parked").Length() != 0 {
		t.Error("somebody else is shown sheets that are not theirs")
	}
}
