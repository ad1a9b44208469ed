package job_test

import (
	"testing"
	"time"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/job"
)

func TestHowAPromiseStandsToWhatWasProposed(t *testing.T) {
	london, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 10, 13, 22, 30, 0, 0, time.UTC) // 23:30 in London
	proposed := at.Add(72 * time.Hour)
	for _, c := range []struct {
		rule     string
		promised time.Time
		proposed time.Time
		want     string
	}{
		{"nothing was proposed", proposed, time.Time{}, job.Unproposed},
		{"what was proposed", proposed, proposed, job.AsProposed},
		{"after it", proposed.Add(time.Minute), proposed, job.Later},
		{"before it", at.Add(48 * time.Hour), proposed, job.Earlier},
		{"within the day, as the shop counts it", at.Add(29 * time.Minute), proposed, job.SameDay},
		{"past its midnight", at.Add(31 * time.Minute), proposed, job.Earlier},
		{"proposed for the day itself", at.Add(20 * time.Minute), at.Add(20 * time.Minute), job.AsProposed},
	} {
		if got := job.HowPromised(at, c.promised, job.Foreseen{Proposed: c.proposed}, london); got != c.want {
			t.Errorf("%s: %q, want %q", c.rule, got, c.want)
		}
	}
}

func TestPromisesAreKeptFromTheDropOffOn(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	drop := d.dropOff(d.fork)
	drop.Foreseen = job.Foreseen{Expected: drop.PromisedAt.Add(-3 * time.Hour), Proposed: drop.PromisedAt}
	visit, err := job.TakeIn(ctx, tx, d.by, drop)
	if err != nil {
		t.Fatal(err)
	}
	v, err := job.Visit(ctx, tx, visit)
	if err != nil {
		t.Fatal(err)
	}
	move := func(version int, to time.Time, reason string) error {
		by := dbtest.Act(t, tx, d.by)
		by.At = by.At.Add(time.Hour)
		return job.MovePromise(ctx, tx, by, visit, version, to, reason, job.Foreseen{}, time.UTC)
	}
	next := drop.PromisedAt.AddDate(0, 0, 2)
	for _, c := range []struct {
		rule  string
		err   error
		field string
	}{
		{"without a reason", move(v.Version, next, " "), "reason"},
		{"to no day", move(v.Version, time.Time{}, "wipers late"), "promised"},
		{"to the past", move(v.Version, d.by.At, "wipers late"), "promised"},
		{"to what stands", move(v.Version, drop.PromisedAt, "wipers late"), "promised"},
	} {
		if !isInvalid(c.err, c.field) {
			t.Errorf("%s: %v, want a sentence beside %s", c.rule, c.err, c.field)
		}
	}
	if err := move(v.Version+1, next, "wipers late"); !isConflict(err) {
		t.Errorf("over a version nobody saw: %v, want a conflict", err)
	}
	if err := move(v.Version, next, " wipers late "); err != nil {
		t.Fatal(err)
	}
	list, err := job.Promises(ctx, tx, visit)
	if err != nil || len(list) != 2 {
		t.Fatalf("promises %+v, %v; want two", list, err)
	}
	if p := list[0]; !p.PromisedAt.Equal(next) || p.How != job.Unproposed || p.Reason != "wipers late" || p.ExpectedAt != nil {
		t.Errorf("moved: %+v", p)
	}
	if p := list[1]; p.How != job.AsProposed || !p.ExpectedAt.Equal(drop.Foreseen.Expected) || p.By == "" {
		t.Errorf("at drop-off: %+v", p)
	}
	if v, err = job.Visit(ctx, tx, visit); err != nil || !v.PromisedAt.Equal(next) {
		t.Errorf("the visit promises %v, %v; want %v", v.PromisedAt, err, next)
	}
}

func TestNoPromiseMovesWhereAllIsReady(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	j := d.takeIn()
	d.bring(j.ID, job.OnBench, job.FinalCheck, job.Ready)
	v, err := job.Visit(ctx, tx, j.VisitID)
	if err != nil {
		t.Fatal(err)
	}
	if err := job.MovePromise(ctx, tx, d.by, j.VisitID, v.Version, j.PromisedAt.Add(time.Hour), "late", job.Foreseen{}, time.UTC); !isConflict(err) {
		t.Errorf("of a visit that is ready: %v, want a conflict", err)
	}
}
