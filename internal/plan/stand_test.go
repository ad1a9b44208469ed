package plan_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/job"
	"damperdesk/internal/plan"
	"damperdesk/internal/procedure"
)

func losesAir(drop *job.DropOff) {
	stands(drop)
	drop.Units[0].Symptoms = []string{procedure.LosesAir}
}

func TestAForkThatLosesAirStandsOvernight(t *testing.T) {
	d := newDesk(t)
	j := d.takeIn("2026-10-16 18:00", losesAir)
	next := d.takeIn("2026-10-17 18:00")
	after := d.afterTheNight()
	ready := at("2026-10-14 10:00").Add(after)
	d.wants("before it has a sheet", j, ready.Format("2006-01-02 15:04"), "next on the bench, stands overnight until tomorrow 10:00")
	if e := d.expected(next); !e.Ready.Equal(at("2026-10-13 16:12").Add(-after)) {
		t.Errorf("the next one, while it stands: ready %s, want an hour after what comes before the night", e.Ready)
	}
	outlook := d.plan().Weigh([]plan.Unit{{Work: job.Work{Services: []string{"other"}}, Facts: procedure.Facts{Kind: "fork", Symptoms: []string{procedure.LosesAir}}}},
		time.Time{}, at("2026-10-13 18:00"))
	if !outlook.Expected.Equal(ready) || !strings.HasSuffix(outlook.Why, "stands overnight until tomorrow 10:00") {
		t.Errorf("for one that is about to come, on the same day: %+v", outlook)
	}
}

// afterTheNight is how much of an hour the steps from the reading on are, by the
// sheet.
func (d *desk) afterTheNight() time.Duration {
	d.t.Helper()
	j := d.takeIn("2026-12-16 18:00", losesAir)
	d.must(bench.Start(ctx, d.tx, d.act(d.bench), j.ID))
	sheet, err := bench.Get(ctx, d.tx, j.ID)
	d.must(err)
	i := slices.IndexFunc(sheet.Steps, func(s bench.Step) bool { return s.Key == "V4.overnight" })
	d.must(job.Cancel(ctx, d.tx, d.act(d.by), j.ID, "no fault found", "It held."))
	n := len(sheet.Steps)
	return time.Duration(float64(time.Hour) * float64(n-i) / float64(n)).Round(time.Minute)
}

// sign signs the sheet of a job up to a step, that one left out.
func (d *desk) sign(j job.Job, upTo string) {
	d.t.Helper()
	held, err := bench.Hold(ctx, d.tx, d.act(d.bench), j.ID)
	d.must(err)
	for _, s := range held.Sheet().Steps {
		if s.Key == upTo {
			return
		}
		by := d.act(d.bench)
		by.At = d.bench.At
		d.must(held.Sign(ctx, d.tx, by, at("2026-10-13 14:12").Location(), bench.Signing{StepID: s.ID, Outcome: outcomeOf(s), Reason: "It is a test."}))
	}
}

func outcomeOf(s bench.Step) string {
	if s.MayNotApply() {
		return bench.OutcomeNot
	}
	return bench.OutcomeDone
}

func TestWhatStandsNowEndsWhenItEnds(t *testing.T) {
	d := newDesk(t)
	j, next := d.takeIn("2026-10-16 18:00", stands), d.takeIn("2026-10-17 18:00")
	d.must(bench.Start(ctx, d.tx, d.act(d.bench), j.ID))
	d.sign(j, "V4")
	e := d.expected(j)
	if e.Why != "stands until 14:27" || !e.Start.Equal(at("2026-10-13 14:27")) || e.Ready.Sub(e.Start) != e.Left {
		t.Errorf("15 minutes from 14:12: %+v", e)
	}
	d.wants("the next one, left for it", next, at("2026-10-13 15:12").Add(e.Left).Format("2006-01-02 15:04"), "next on the bench")
	if n, ok := d.plan().Next(d.bench.Staff); !ok || n.JobID != next.ID {
		t.Errorf("to take up while it stands: %+v, want job %d", n, next.Number)
	}
	d.by.At = at("2026-10-13 14:40")
	if e := d.expected(j); e.Why != "on the bench now" || !e.Start.Equal(d.by.At) {
		t.Errorf("after that: %+v", e)
	}
}

func TestANightEndsWhenTheShopOpensNext(t *testing.T) {
	d := newDesk(t)
	j := d.takeIn("2026-10-23 18:00", losesAir)
	d.by.At = at("2026-10-17 17:00") // a Saturday
	d.bench.At = d.by.At
	d.must(bench.Start(ctx, d.tx, d.act(d.bench), j.ID))
	d.sign(j, "V4.overnight")
	e := d.expected(j)
	if e.Why != "stands overnight until Tuesday 10:00" || !e.Start.Equal(at("2026-10-20 10:00")) {
		t.Errorf("over a closed Sunday and Monday: %+v", e)
	}
}
