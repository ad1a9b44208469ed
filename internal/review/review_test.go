package review

import (
	"context"
	"math"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

var ctx = context.Background()

func zoned(t testing.TB, name string) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// at reads a moment of 2026 by the clock in London: "14 Sep 10:00".
func at(t testing.TB, text string) time.Time {
	t.Helper()
	moment, err := time.ParseInLocation("2006 2 Jan 15:04", "2026 "+text, zoned(t, "Europe/London"))
	if err != nil {
		t.Fatal(err)
	}
	return moment.UTC()
}

// smallShop makes jobs through the functions of the desk and the bench.
type smallShop struct {
	t        testing.TB
	tx       pgx.Tx
	by       history.By
	customer int64
	jobs     map[string]int64
	units    map[string]int64
}

func newSmallShop(t testing.TB, tx pgx.Tx) *smallShop {
	t.Helper()
	s := &smallShop{t: t, tx: tx, by: dbtest.By(t, tx, "desk", "mechanic"), jobs: map[string]int64{}, units: map[string]int64{}}
	_, err := tx.Exec(ctx, `insert into service (code, name, blocks, seq) values
		('test-lower', 'Lower-leg service', '{A}', 901), ('test-air', 'Air-spring service', '{A}', 902), ('test-none', 'Never wanted', '{A}', 903)`)
	if err != nil {
		t.Fatal(err)
	}
	if s.customer, err = customer.Add(ctx, tx, s.by, customer.Details{Name: "Odette Marsh", Phone: "07700 900118"}); err != nil {
		t.Fatal(err)
	}
	return s
}

func (s *smallShop) at(when string) history.By {
	by := s.by
	by.At = at(s.t, when)
	return by
}

// brings takes a unit in for a service.
func (s *smallShop) brings(name, unit, service, when, promised string, again ...bool) {
	s.t.Helper()
	if s.units[unit] == 0 {
		id, err := customer.AddUnit(ctx, s.tx, s.by, s.customer, customer.UnitDetails{Kind: "fork", ModelWords: unit})
		if err != nil {
			s.t.Fatal(err)
		}
		s.units[unit] = id
	}
	id, err := job.TakeIn(ctx, s.tx, s.at(when), job.DropOff{CustomerID: s.customer, PromisedAt: at(s.t, promised), Currency: "GBP",
		Units: []job.DropOffUnit{{UnitID: s.units[unit], Services: []string{service}, Comeback: len(again) > 0}}})
	if err != nil {
		s.t.Fatalf("%s: %v", name, err)
	}
	v, err := job.Visit(ctx, s.tx, id)
	if err != nil {
		s.t.Fatal(err)
	}
	s.jobs[name] = v.Jobs[0].ID
}

// goes moves a job: stage and moment in turn.
func (s *smallShop) goes(name string, steps ...string) {
	s.t.Helper()
	for i := 0; i < len(steps); i += 2 {
		by, id := s.at(steps[i+1]), s.jobs[name]
		var err error
		switch stage := steps[i]; stage {
		case job.PickedUp:
			err = job.HandOver(ctx, s.tx, by, id, "")
		case job.Cancelled:
			err = job.Cancel(ctx, s.tx, by, id, "no parts", "")
		default:
			err = job.Move(ctx, s.tx, by, id, stage, "as it is")
		}
		if err != nil {
			s.t.Fatalf("%s %s at %s: %v", name, steps[i], steps[i+1], err)
		}
	}
}

func (s *smallShop) waits(name, kind, from, to string) {
	s.t.Helper()
	expected := time.Date(2026, 10, 10, 0, 0, 0, 0, time.UTC)
	if err := job.Hold(ctx, s.tx, s.at(from), s.jobs[name], kind, "tray 4", &expected); err != nil {
		s.t.Fatal(err)
	}
	if to == "" {
		return
	}
	var hold int64
	if err := s.tx.QueryRow(ctx, "select max(id) from hold").Scan(&hold); err != nil {
		s.t.Fatal(err)
	}
	if err := job.EndHold(ctx, s.tx, s.at(to), s.jobs[name], hold); err != nil {
		s.t.Fatal(err)
	}
}

// ready is the way of a job that goes smoothly.
func (s *smallShop) ready(name, bench, ready string) {
	s.t.Helper()
	s.goes(name, job.OnBench, bench, job.FinalCheck, ready, job.Ready, ready)
}

// fill makes the jobs that the figures below are computed from by hand, at the
// clock in London. Now is Tuesday 13 October, 14:12.
func (s *smallShop) fill() {
	// In the four weeks before: 2 days, late.
	s.brings("0", "unit 0", "test-lower", "1 Sep 10:00", "2 Sep 12:00")
	s.ready("0", "2 Sep 10:00", "3 Sep 10:00")
	s.goes("0", job.PickedUp, "20 Sep 12:00")
	// Week 38. 1 day, half of it on the bench; ready to the minute.
	s.brings("1", "unit 1", "test-lower", "14 Sep 10:00", "15 Sep 10:00")
	s.ready("1", "14 Sep 22:00", "15 Sep 10:00")
	s.goes("1", job.PickedUp, "16 Sep 12:00")
	// 2 days, 1 on the bench; a minute late.
	s.brings("2", "unit 2", "test-air", "15 Sep 10:00", "17 Sep 09:59")
	s.ready("2", "16 Sep 10:00", "17 Sep 10:00")
	s.goes("2", job.PickedUp, "18 Sep 12:00")
	// Week 39. 3 days: 1 on parts, 0.75 on the bench; kept.
	s.brings("3", "unit 3", "test-lower", "21 Sep 12:00", "25 Sep 12:00")
	s.waits("3", job.WaitingOnParts, "22 Sep 12:00", "23 Sep 12:00")
	s.ready("3", "23 Sep 18:00", "24 Sep 12:00")
	s.goes("3", job.PickedUp, "25 Sep 12:00")
	// Ready in 2 days and in time, but taken back after one more and ready again
	// a day later: 4 days, 2 on the bench; late.
	s.brings("4", "unit 4", "test-air", "22 Sep 10:00", "24 Sep 12:00")
	s.ready("4", "23 Sep 10:00", "24 Sep 10:00")
	s.goes("4", job.FinalCheck, "25 Sep 10:00", job.Ready, "26 Sep 10:00", job.PickedUp, "27 Sep 12:00")
	// Week 40. 5 days: 2 on the customer, of which 1 sent out as well, 1 more
	// sent out, 1 on the bench; kept.
	s.brings("5", "unit 5", "test-lower", "28 Sep 10:00", "5 Oct 12:00")
	s.waits("5", job.WaitingOnCustomer, "29 Sep 10:00", "1 Oct 10:00")
	s.waits("5", job.SentOut, "30 Sep 10:00", "2 Oct 10:00")
	s.ready("5", "2 Oct 10:00", "3 Oct 10:00")
	s.goes("5", job.PickedUp, "4 Oct 12:00")
	// 6 days, 5 on the bench; late.
	s.brings("6", "unit 6", "test-air", "28 Sep 10:00", "3 Oct 12:00")
	s.ready("6", "29 Sep 10:00", "4 Oct 10:00")
	s.goes("6", job.PickedUp, "5 Oct 12:00")
	// Week 41. The unit of job 1 again; waits for parts that are overdue, and is
	// late.
	s.brings("7", "unit 1", "test-lower", "5 Oct 10:00", "9 Oct 12:00", true)
	s.waits("7", job.WaitingOnParts, "7 Oct 10:00", "")
	// Ended before its promise, which counts for nothing.
	s.brings("8", "unit 8", "test-air", "6 Oct 10:00", "9 Oct 12:00")
	s.goes("8", job.Cancelled, "7 Oct 12:00")
	// This week: ready and not fetched.
	s.brings("9", "unit 9", "test-air", "12 Oct 10:00", "14 Oct 12:00")
	s.ready("9", "12 Oct 12:00", "13 Oct 09:00")
}

func near(a, b float64) bool { return math.Abs(a-b) < 1e-9 }

func TestReviewOfASmallShop(t *testing.T) {
	tx := dbtest.Tx(t)
	s := newSmallShop(t, tx)
	s.fill()
	zone := zoned(t, "Europe/London")
	r, err := Read(ctx, tx, FullWeeks(4, dbtest.Now, zone), dbtest.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Run("the period", func(t *testing.T) { periodOfSmallShop(t, r) })
	t.Run("the weeks", func(t *testing.T) { weeksOfSmallShop(t, r) })
	t.Run("the promises", func(t *testing.T) { promisesOfSmallShop(t, r) })
	t.Run("now", func(t *testing.T) { nowOfSmallShop(t, r, s) })
}

func periodOfSmallShop(t *testing.T, r Review) {
	f := r.Now
	// Ready: jobs 1 to 6, in 1 to 6 days, so the median is (3 + 4) / 2.
	if f.Lead.N != 6 || !f.Lead.Enough() || !near(f.Lead.Value, 3.5) || f.Ready != 6 {
		t.Errorf("median %+v of %d, want 3.5 of 6", f.Lead, f.Ready)
	}
	if f.Within.Enough() || f.Within.N != 6 || f.Within.Need != 19 {
		t.Errorf("85th percentile %+v, want none of 6: it takes 19", f.Within)
	}
	// In: jobs 1 to 8. Out: jobs 0 to 6 and 8. Here at the end: job 7.
	if f.In != 8 || f.Out != 8 || f.Open != 1 || !near(f.PerWeek(f.In), 2) {
		t.Errorf("in %d, out %d, here %d, in per week %v; want 8, 8, 1, 2", f.In, f.Out, f.Open, f.PerWeek(f.In))
	}
	if f.Again.K != 1 || f.Again.N != 8 {
		t.Errorf("here again %d of %d, want job 7 of 8", f.Again.K, f.Again.N)
	}
	if f.Comebacks.K != 1 || f.Comebacks.N != 8 {
		t.Errorf("comebacks %d of %d, want job 7 of 8", f.Comebacks.K, f.Comebacks.N)
	}
	// For a bench 0.5 + 1 + 1.25 + 2 + 1 + 1; on it 0.5 + 1 + 0.75 + 2 + 1 + 5;
	// parts 1, customer 2, sent out 1: 21 days in all, of six jobs.
	split := Split{6.75 / 6, 10.25 / 6, 1.0 / 6, 2.0 / 6, 1.0 / 6}
	for i, want := range split {
		if !near(f.Split[i], want) {
			t.Errorf("part %d: %v days, want %v", i, f.Split[i], want)
		}
	}
	// The four weeks before: job 0 came, was ready in 2 days and stayed.
	if b := r.Prev; b.In != 1 || b.Out != 0 || b.Open != 1 || b.Lead.N != 1 || b.Lead.Enough() || b.Kept.K != 0 || b.Kept.N != 1 {
		t.Errorf("before: %+v", b)
	}
	if !f.Whole || r.Prev.Whole || !r.Begun.Equal(at(t, "1 Sep 10:00")) {
		t.Errorf("the records begin at %v; now whole %v, before %v", r.Begun, f.Whole, r.Prev.Whole)
	}
}

func weeksOfSmallShop(t *testing.T, r Review) {
	if len(r.Weeks) != weeksShown || r.Limits != nil {
		t.Errorf("%d weeks, limits %v; want %d and none", len(r.Weeks), r.Limits, weeksShown)
	}
	want := []struct{ number, in, out, open, ready int }{
		{36, 1, 0, 1, 1}, {37, 0, 0, 1, 0}, {38, 2, 3, 0, 2}, {39, 2, 2, 0, 2}, {40, 2, 1, 1, 2}, {41, 2, 2, 1, 0},
	}
	for i, w := range r.Weeks[len(r.Weeks)-len(want):] {
		if c := want[i]; w.Number != c.number || w.In != c.in || w.Out != c.out || w.Open != c.open || w.Lead.N != c.ready || w.Running {
			t.Errorf("week %d: in %d, out %d, here %d, ready %d; want %+v", w.Number, w.In, w.Out, w.Open, w.Lead.N, c)
		}
	}
}

func promisesOfSmallShop(t *testing.T, r Review) {
	// Kept: 1, 3, 5. Not: 2 by a minute, 4 taken back, 6, and 7, still here. 8
	// ended before, 9 is for later.
	want := []struct {
		name string
		k, n int
	}{{"", 3, 7}, {"Lower-leg service", 3, 4}, {"Air-spring service", 0, 3}}
	if len(r.Kept) != len(want) {
		t.Fatalf("promises %+v, want %d rows", r.Kept, len(want))
	}
	for i, k := range r.Kept {
		if c := want[i]; k.Name != c.name || k.Now.K != c.k || k.Now.N != c.n {
			t.Errorf("%q: %d of %d, want %+v", k.Name, k.Now.K, k.Now.N, c)
		}
		if k.Next != nil {
			t.Errorf("%q: what comes next is said of two services", k.Name)
		}
	}
	if all := r.Kept[0].Now; !all.Enough() || all != r.Now.Kept || r.Kept[1].Now.Enough() {
		t.Errorf("of 7 %+v, of 4 %+v; want only the first to be enough", all, r.Kept[1].Now)
	}
}

func nowOfSmallShop(t *testing.T, r Review, s *smallShop) {
	if len(r.Comebacks) != 1 || r.Comebacks[0].JobID != s.jobs["7"] || r.Comebacks[0].OfJob != s.jobs["1"] {
		t.Errorf("comebacks %+v, want job 7 of job 1", r.Comebacks)
	}
	if len(r.Blocked) != 1 || r.Blocked[0].Job.ID != s.jobs["7"] || r.Blocked[0].Days != 6 || !r.Blocked[0].Overdue || r.Blocked[0].Wait.Tray != "tray 4" {
		t.Errorf("blocked %+v, want job 7 for 6 days, overdue since the 10th", r.Blocked)
	}
	if len(r.Unfetched) != 1 || r.Unfetched[0].Job.ID != s.jobs["9"] || r.Unfetched[0].Days != 0 {
		t.Errorf("ready %+v, want job 9 since today", r.Unfetched)
	}
}

// An empty shop has no figures, and no error.
func TestReviewOfAnEmptyShop(t *testing.T) {
	tx := dbtest.Tx(t)
	r, err := Read(ctx, tx, FullWeeks(12, dbtest.Now, time.UTC), dbtest.Now)
	if err != nil {
		t.Fatal(err)
	}
	if !r.Begun.IsZero() || r.Now.Lead.Enough() || r.Now.Kept.Enough() || r.Now.Whole || len(r.Weeks) != weeksShown {
		t.Errorf("%+v", r)
	}
}

// Days picked in this week count up to now, and the week says that it runs.
func TestThisWeekRuns(t *testing.T) {
	tx := dbtest.Tx(t)
	newSmallShop(t, tx).fill()
	day := time.Date(2026, 10, 13, 0, 0, 0, 0, time.UTC)
	p, err := Between(day.AddDate(0, 0, -8), day, dbtest.Now, zoned(t, "Europe/London"))
	if err != nil {
		t.Fatal(err)
	}
	r, err := Read(ctx, tx, p, dbtest.Now)
	if err != nil {
		t.Fatal(err)
	}
	// Here now: job 7, which waits, and job 9, which is ready.
	last := r.Weeks[len(r.Weeks)-1]
	if !last.Running || last.In != 1 || last.Open != 2 || r.Now.Open != 2 || r.Now.In != 3 {
		t.Errorf("last week %+v; in %d, here %d", last, r.Now.In, r.Now.Open)
	}
}
