package web

import (
	"context"
	"net/url"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/shop"
)

// promisingDesk is a front desk with one mechanic and no reserve. Other work
// books 60 minutes, and the fork stands another 15; it is Tuesday 13 October, 14:12, and the shop closes at 17.
func promisingDesk(t *testing.T) frontDesk {
	t.Helper()
	c := newFrontDesk(t)
	c.as(mechanic)
	c.write(func(tx pgx.Tx, by history.By) error {
		s, err := shop.Get(context.Background(), tx)
		if err != nil {
			return err
		}
		return shop.SetReserve(context.Background(), tx, by, s.Version, 0)
	})
	return c
}

func values(fields ...string) string {
	v := url.Values{}
	for i := 0; i+1 < len(fields); i += 2 {
		v.Add(fields[i], fields[i+1])
	}
	return v.Encode()
}

func TestTheDropOffProposesTheFirstDayWithRoom(t *testing.T) {
	c := promisingDesk(t)
	p := c.get("/drop-off").want(200).wantWords("#promise", "Tue 13 Oct, 17:00").wantWords("#promise", "Once the services are chosen")
	if p.Find(`#promise input[checked]`).Length() != 0 {
		t.Error("a day is chosen before the work is known")
	}
	// 75 minutes from 14:12, and two days of eight hours: 1.55 h today, 8 tomorrow,
	// 6.45 on Thursday until 15:27.
	p = c.get("/drop-off/promise?" + values("units", "1", "unit0.unit", "new", "unit0.services", "other")).want(200)
	if got := p.Find(`input[name="promise"][checked]`).AttrOr("value", ""); got != "2026-10-15T16:00:00Z" {
		t.Errorf("proposed %q, want Thursday 17:00", got)
	}
	for _, words := range []string{"the first day with room", "Expected Tue 13 Oct, 15:27: next on the bench; 60 min at the bench, book time.", "Not enough history to say how sure: 0 of the 19 past promises"} {
		p.wantWords("body", words)
	}
	// Without the script a press works it out and stores nothing.
	p = c.post("/drop-off", c.fields("press", "promise", "unit0.services", "other", "promise", "")...).want(200).wantWords("#promise", "the first day with room")
	if p.Find(`#promise input[checked]`).AttrOr("value", "") != "2026-10-15T16:00:00Z" {
		t.Error("the press chooses no day")
	}
	// Booked for Saturday it is Saturday and two days on: Tuesday.
	p = c.get("/drop-off/promise?"+values("units", "1", "unit0.services", "other", "booked", "2026-10-17")).want(200).wantWords("body", "comes Saturday")
	if got := p.Find(`input[name="promise"][checked]`).AttrOr("value", ""); got != "2026-10-20T16:00:00Z" {
		t.Errorf("booked for Saturday it proposes %q, want Tuesday 17:00", got)
	}
}

func TestAnEarlierPromiseIsTakenWithItsRiskStated(t *testing.T) {
	c := promisingDesk(t)
	c.post("/drop-off", c.fields("unit0.unit", "new", "unit0.kind", "fork", "unit0.words", "black fork", "unit0.services", "other", "promise", "2026-10-13T16:00:00Z")...).want(303)
	form := []string{"units", "1", "unit0.unit", c.id(c.fork), "unit0.services", "full"}
	p := c.get("/drop-off/promise?" + values(append(form, "promise", "other", "promised", "2026-10-13T16:55")...)).want(200)
	p.wantWords(`[role="status"]`, "Earlier than proposed: 3 min of open time to spare.").wantWords(`[role="status"]`, "Ticket 1001: ready Wed 09:")
	if p.Find(`input[value="other"][checked]`).Length() != 1 || p.Find(`input[name="promised"]`).AttrOr("value", "") != "2026-10-13T16:55" {
		t.Errorf("what was typed is gone: %s", p.body)
	}
	if strings.Contains(p.body, "not-a-time") {
		t.Error("nonsense is shown")
	}
	c.get("/drop-off/promise?" + values(append(form, "promise", "other", "promised", "not-a-time")...)).want(200)

	visit := c.post("/drop-off", c.fields("unit0.services", "other", "promise", "other", "promised", "2026-10-13T16:30")...).want(303).to
	var how string
	var pins int
	err := c.pool.QueryRow(context.Background(), "select how, (select count(*) from pin where kind = 'day') from promise order by id desc limit 1").Scan(&how, &pins)
	if err != nil || how != job.SameDay || pins != 2 {
		t.Errorf("kept as %q with %d pins, %v; want same-day promises, both pinned", how, pins, err)
	}
	c.get(visit).want(200).wantWords(".head", "Expected Tue 13 Oct, 15:27: pinned to today")
}

func TestAPromiseMovesWithAReason(t *testing.T) {
	c := promisingDesk(t)
	visit := c.post("/drop-off", c.fields("unit0.services", "other")...).want(303).to
	page := visit + "/promise"
	p := c.get(page).want(200).wantWords("#content", "Expected Tue 13 Oct, 15:27: next on the bench.").wantWords("#given", "").wantWords(".dots", "Thu 15 Oct, 17:00, given Tue 13 Oct, 14:12")
	version := p.Find(`input[name="version"]`).AttrOr("value", "")
	c.post(page, "version", version, "promise", "other", "promised", "2026-10-12T10:00").want(422).
		wantWords(".wrong", "That time is past")
	weighed := c.post(page, "version", version, "press", "weigh", "promise", "other", "promised", "2026-10-13T15:00", "reason", "rides tonight").want(200)
	weighed.wantWords(`#content [role="status"]`, "Of such promises: not ready by then as the line stands")
	if weighed.Find(`input[name="reason"]`).AttrOr("value", "") != "rides tonight" {
		t.Error("the reason is gone")
	}
	c.post(page, "version", version, "promise", "2026-10-16T16:00:00Z", "reason", "wipers late").wantTo(visit)
	c.get(visit).want(200).wantWords(".head", "Promised Fri 16 Oct, 17:00")
	c.get(page).want(200).wantWords(".dots", "given Tue 13 Oct, 14:12 by").wantWords(".dots", "later; expected then Tue 13 Oct, 15:27. Wipers late")
	c.post(page, "version", version, "promise", "2026-10-17T16:00:00Z", "reason", "wipers late").want(409)
	c.as(mechanic).get(page).want(403)
}
