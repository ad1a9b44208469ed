package plan_test

import (
	"strings"
	"testing"
	"time"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/shop"
)

func TestTheLineGivesNobodyWhatTheyDoNotDo(t *testing.T) {
	d := newDesk(t)
	second := dbtest.By(t, d.tx, "mechanic")
	not := func(who history.By, seen []string, services ...string) {
		t.Helper()
		d.must(shop.SetNotDone(ctx, d.tx, d.act(d.owner), who.Staff, services, seen))
	}
	not(d.bench, nil, hour)
	one, two := d.takeIn("2026-10-14 18:00"), d.takeIn("2026-10-15 18:00")
	stand := d.takeIn("2026-10-16 18:00", stands)
	for _, j := range []job.Job{one, two} {
		if e := d.expected(j); e.MechanicID != second.Staff || !strings.HasSuffix(e.Why, ", only "+e.Mechanic+" does “Hour”") {
			t.Errorf("what only one does: %+v", e)
		}
	}
	if e := d.expected(stand); e.MechanicID != d.bench.Staff || strings.Contains(e.Why, "only") {
		t.Errorf("what both do goes to the one who is free: %+v", e)
	}
	p := d.plan().Propose(other, time.Time{})
	if !p.Expected.Equal(at("2026-10-13 17:12")) || !strings.Contains(p.Why, "two jobs before it, only ") {
		t.Errorf("for one that is about to come: %+v", p)
	}
	both := d.takeIn("2026-10-20 18:00", func(drop *job.DropOff) { drop.Units[0].Services = []string{hour, "other"} })
	not(second, nil, "other")
	if e := d.expected(both); !e.Ready.IsZero() || e.Why != "nobody does all of it" {
		t.Errorf("of two services each does one: %+v", e)
	}
	not(second, []string{"other"}, "other", hour)
	if e := d.expected(one); !e.Ready.IsZero() || e.Why != "nobody does “Hour”" {
		t.Errorf("what nobody does: %+v", e)
	}
	d.must(job.Assign(ctx, d.tx, d.act(d.by), one.ID, one.Version, &d.bench.Staff))
	if e := d.expected(one); e.MechanicID != d.bench.Staff || e.Why != "next on the bench" {
		t.Errorf("what somebody was given all the same: %+v", e)
	}
}
