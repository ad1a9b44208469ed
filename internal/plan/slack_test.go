package plan_test

import (
	"fmt"
	"testing"
	"time"

	"damperdesk/internal/job"
	"damperdesk/internal/plan"
	"damperdesk/internal/shop"
)

// keep makes n visits of the past, each ready so many hours after what was
// expected while the shop was open.
func (d *desk) keep(late ...float64) {
	d.t.Helper()
	now := d.by.At
	for i, hours := range late {
		came := at("2026-09-01 10:00").AddDate(0, 0, 7*(i%5)) // Tuesdays
		d.by.At, d.bench.At = came, came
		expected := came.Add(time.Hour)
		j := d.takeIn(came.AddDate(0, 0, 3).Format("2006-01-02 15:04"), func(drop *job.DropOff) {
			drop.Foreseen = job.Foreseen{Expected: expected, Proposed: came.AddDate(0, 0, 3)}
		})
		for _, stage := range []string{job.OnBench, job.FinalCheck, job.Ready} {
			d.bench.At = expected.Add(time.Duration(hours * float64(time.Hour)))
			d.must(job.Move(ctx, d.tx, d.act(d.bench), j.ID, stage, ""))
		}
	}
	d.by.At, d.bench.At = now, now
}

func TestHowSureAPromiseIsFollowsFromThePast(t *testing.T) {
	d := newDesk(t)
	var late []float64
	for i := range 18 {
		late = append(late, float64(i)/4)
	}
	d.keep(late...)
	if s := d.plan().Slack; s.Enough() || s.N != 18 || s.Need != 19 || s.For != 16*time.Hour {
		t.Errorf("18 promises: %+v, want two days, and one more promise", s)
	}
	d.keep(4.5)
	// 0.85·20/19 of 19: the 17th of the values 0, 0.25 ... 4.5.
	p := d.plan()
	if s := p.Slack; !s.Enough() || s.For != 4*time.Hour {
		t.Errorf("19 promises: %v of %d, want 4 h", s.For, s.N)
	}
	// Expected 15:12; 18:00 leaves 2.8 h: kept were those of 0 to 2.75 h, 12 of 19.
	o := p.Weigh(other, time.Time{}, at("2026-10-13 18:00"))
	if !o.Known || fmt.Sprintf("%.3f", o.Kept) != fmt.Sprintf("%.3f", 12.0/19) {
		t.Errorf("the same day: %+v, want 12 of 19 kept", o)
	}
	// What should have been ready three weeks ago and is not counts as later than that.
	was := d.by.At
	d.by.At = at("2026-09-22 10:00")
	d.takeIn("2026-09-24 18:00", func(drop *job.DropOff) {
		drop.Foreseen = job.Foreseen{Expected: at("2026-09-22 12:00"), Proposed: at("2026-09-24 18:00")}
	})
	d.by.At = was
	if s := d.plan().Slack; s.N != 19 || s.For != 4250*time.Hour/1000 && s.For != 4500*time.Hour/1000 {
		t.Errorf("with one overdue: %v of %d, want more than 4 h", s.For, s.N)
	}
}

func TestASurerPromiseIsALaterOne(t *testing.T) {
	d := newDesk(t)
	var late []float64
	for i := range 40 {
		late = append(late, float64(i)/8)
	}
	d.keep(late...)
	of := func(percent int) plan.Slack {
		s, err := shop.Get(ctx, d.tx)
		d.must(err)
		d.must(shop.SetSure(ctx, d.tx, d.act(d.owner), s.Version, percent))
		return d.plan().Slack
	}
	// By stat.Least: 6, 19, 59 and 299 promises; 41/40 of the share of 40.
	for _, c := range []struct {
		percent, need int
		hours         float64
	}{{50, 6, 2.5}, {85, 19, 4.25}, {95, 59, 16}, {99, 299, 16}} {
		if s := of(c.percent); s.Need != c.need || s.For.Hours() != c.hours || s.Sure != float64(c.percent)/100 {
			t.Errorf("%d in 100: %+v, want %v hours, and %d promises for them", c.percent, s, c.hours, c.need)
		}
	}
}
