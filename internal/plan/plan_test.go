package plan_test

import (
	"context"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/plan"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

var ctx = context.Background()

// desk is a shop in London, open Tuesday to Saturday from 10 to 18, that keeps
// nothing in reserve, with one mechanic; a service books 60 minutes, and units
// stand for no step of it. It is Tuesday 13 October 2026, 14:12.
type desk struct {
	t     *testing.T
	tx    pgx.Tx
	owner history.By
	by    history.By
	bench history.By
	units int
	who   int64
}

func newDesk(t *testing.T) *desk {
	t.Helper()
	tx := dbtest.Tx(t)
	d := &desk{t: t, tx: tx, owner: dbtest.By(t, tx, "owner"), by: dbtest.By(t, tx, "desk"), bench: dbtest.By(t, tx, "mechanic")}
	d.must(shop.Save(ctx, tx, d.owner, shop.Settings{Name: "Weir Lane Cycles", Zone: "Europe/London", Currency: "GBP",
		Hemisphere: "north", TorqueUnit: "N·m", VolumeUnit: "mL", PressureUnit: "psi", MassUnit: "kg"}))
	d.must(shop.SetHours(ctx, tx, d.act(d.owner), nil, shop.UsualWeeks[0]))
	s, err := shop.Get(ctx, tx)
	d.must(err)
	d.must(shop.SetReserve(ctx, tx, d.act(d.owner), s.Version, 0))
	d.must(procedure.Install(ctx, tx, d.act(d.owner)))
	_, err = procedure.PutService(ctx, tx, d.act(d.owner), procedure.Service{Name: "Hour", Kinds: []string{"fork"}, Blocks: []string{"A1-5", "F", "V2-3", "V5-9"}})
	d.must(err)
	d.who, err = customer.Add(ctx, tx, d.by, customer.Details{Name: "Odette Marsh", Phone: "07700 900118"})
	d.must(err)
	return d
}

func (d *desk) must(err error) {
	d.t.Helper()
	if err != nil {
		d.t.Fatal(err)
	}
}

func (d *desk) act(by history.By) history.By { return dbtest.Act(d.t, d.tx, by) }

// at is a time in London.
func at(text string) time.Time {
	zone, err := time.LoadLocation("Europe/London")
	if err != nil {
		panic(err)
	}
	t, err := time.ParseInLocation("2006-01-02 15:04", text, zone)
	if err != nil {
		panic(err)
	}
	return t
}

func day(text string) time.Time {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic(err)
	}
	return t
}

// takeIn takes in a fork for an hour of work.
func (d *desk) takeIn(promised string, more ...func(*job.DropOff)) job.Job {
	d.t.Helper()
	d.units++
	drop := job.DropOff{CustomerID: d.who, PromisedAt: at(promised), Currency: "GBP", Zone: at(promised).Location(), Units: []job.DropOffUnit{{
		NewUnit:  customer.UnitDetails{Kind: "fork", ModelWords: fmt.Sprintf("fork %d", d.units), Serial: fmt.Sprintf("S-%d", d.units)},
		Symptoms: []string{"sticky"}, Services: []string{hour}}}}
	for _, change := range more {
		change(&drop)
	}
	id, err := job.TakeIn(ctx, d.tx, d.act(d.by), drop)
	d.must(err)
	v, err := job.Visit(ctx, d.tx, id)
	d.must(err)
	return v.Jobs[0]
}

func (d *desk) plan() *plan.Plan {
	d.t.Helper()
	p, err := plan.Read(ctx, d.tx, d.by.At)
	d.must(err)
	return p
}

func (d *desk) expected(j job.Job) plan.Expected {
	d.t.Helper()
	e, ok := d.plan().Job(j.ID)
	if !ok {
		d.t.Fatalf("job %d has no place in the line", j.Number)
	}
	return e
}

// wants compares what is said of a job.
func (d *desk) wants(rule string, j job.Job, ready, why string) {
	d.t.Helper()
	e := d.expected(j)
	if !e.Ready.Equal(at(ready)) || e.Why != why {
		d.t.Errorf("%s: ready %s, %q; want %s, %q", rule, e.Ready.In(at(ready).Location()).Format("2006-01-02 15:04"), e.Why, ready, why)
	}
}

func (d *desk) hold(j job.Job, kind, expected string) {
	d.t.Helper()
	var on *time.Time
	if expected != "" {
		x := day(expected)
		on = &x
	}
	d.must(job.Hold(ctx, d.tx, d.act(d.by), j.ID, kind, "", on))
}

// hour is the shop's own service, for which a unit does not stand; it books 60
// minutes.
const hour = "own-hour"

// stands is other work, booked at 60 minutes too, with a quarter of an hour of
// standing at its end: common practice (no source).
func stands(drop *job.DropOff) { drop.Units[0].Services = []string{"other"} }

var other = []plan.Unit{{Work: job.Work{Services: []string{hour}}}}

func TestTheLineGoesByWhatIsPromised(t *testing.T) {
	d := newDesk(t)
	late, soon := d.takeIn("2026-10-16 18:00"), d.takeIn("2026-10-15 18:00")
	d.wants("promised first", soon, "2026-10-13 15:12", "next on the bench")
	d.wants("behind it", late, "2026-10-13 16:12", "one job before it")
	next := d.takeIn("2026-10-20 18:00")
	d.must(job.PinJob(ctx, d.tx, d.act(d.by), job.Pin{JobID: next.ID, Kind: job.NextUp}))
	d.wants("next up", next, "2026-10-13 15:12", "next up")
	d.wants("after what is next up", soon, "2026-10-13 16:12", "one job before it")
	friday := day("2026-10-16")
	d.must(job.PinJob(ctx, d.tx, d.act(d.by), job.Pin{JobID: next.ID, Kind: job.PinnedToDay, Day: &friday}))
	d.wants("pinned to a day", next, "2026-10-16 11:00", "pinned to Friday")
	d.must(job.Assign(ctx, d.tx, d.act(d.by), late.ID, late.Version, &d.bench.Staff))
	d.must(job.Move(ctx, d.tx, d.act(d.bench), late.ID, job.OnBench, ""))
	d.wants("under way", late, "2026-10-13 15:12", "on the bench now")
}

func TestWhatIsWaitedForIsReckonedWith(t *testing.T) {
	d := newDesk(t)
	parts, lost, asked, sent := d.takeIn("2026-10-15 18:00"), d.takeIn("2026-10-15 18:00"), d.takeIn("2026-10-15 18:00"), d.takeIn("2026-10-15 18:00")
	d.hold(parts, job.WaitingOnParts, "2026-10-15")
	d.hold(lost, job.WaitingOnParts, "")
	d.hold(asked, job.WaitingOnCustomer, "")
	d.hold(sent, job.SentOut, "2026-10-19") // a Monday, when the shop is closed
	d.wants("parts, from midday of their day", parts, "2026-10-15 13:00", "parts due Thursday")
	d.wants("parts of no known day, three opening days on", lost, "2026-10-16 11:00", "waiting on parts, no day known, reckoned with Friday")
	d.wants("an answer, after a day", asked, "2026-10-14 15:12", "waits for the customer’s answer, reckoned with tomorrow")
	d.wants("what is back on a closed day, from when the shop opens", sent, "2026-10-20 11:00", "sent out, back Monday")
	d.by.At = at("2026-10-16 12:00")
	d.wants("parts that did not come, tomorrow", parts, "2026-10-17 11:00", "waiting on parts, was due Thursday 15 October")
	if e := d.expected(parts); e.Standing != plan.Overdue || !e.Trouble() {
		t.Errorf("past its promise: %+v", e)
	}
}

func TestWhoIsAtTheBenchIsReckonedWith(t *testing.T) {
	d := newDesk(t)
	j := d.takeIn("2026-10-20 18:00")
	today := day("2026-10-13")
	d.must(shop.AddAbsence(ctx, d.tx, d.act(d.owner), shop.Absence{StaffID: d.bench.Staff, Break: shop.Break{First: today, Last: day("2026-10-14"), ToMin: shop.DayEnd}}))
	e := d.expected(j)
	if !e.Ready.Equal(at("2026-10-15 11:00")) || !strings.HasSuffix(e.Why, " is at the bench Thursday") {
		t.Errorf("with the mechanic away: ready %s, %q", e.Ready, e.Why)
	}
	booked := day("2026-10-17")
	later := d.takeIn("2026-10-20 18:00", func(drop *job.DropOff) { drop.BookedFor = &booked })
	d.wants("booked", later, "2026-10-17 11:00", "comes Saturday")
	d.by.At = at("2026-10-20 09:00")
	if _, ok := d.plan().Job(later.ID); ok {
		t.Error("a booking that has lapsed still takes hours at the bench")
	}
}

func TestTheFirstDayWithRoom(t *testing.T) {
	d := newDesk(t)
	p := d.plan().Propose(other, time.Time{})
	// 60 minutes from 14:12; then two days of eight hours while nothing is known:
	// until 15:12 on Thursday.
	if !p.Expected.Equal(at("2026-10-13 15:12")) || !p.Promise.Equal(at("2026-10-15 18:00")) || p.Why != "next on the bench" || p.Slack.Enough() {
		t.Errorf("with nothing in line: %+v", p)
	}
	// Twenty hours of work, until 10:12 on Friday, promised for Saturday: those
	// that are ready by Thursday evening have just the slack.
	for range 20 {
		d.takeIn("2026-10-17 18:00")
	}
	p = d.plan().Propose(other, time.Time{})
	if !p.Expected.Equal(at("2026-10-16 11:12")) || !p.Promise.Equal(at("2026-10-20 18:00")) || p.Why != "20 jobs before it" {
		t.Errorf("behind twenty: %+v", p)
	}
	d.takeIn(p.Promise.In(at("2026-10-13 00:00").Location()).Format("2006-01-02 15:04"))
	after := d.plan()
	for _, e := range after.Broken() {
		t.Errorf("a promise broke for what was proposed: %+v", e)
	}
	booked := d.plan().Propose(other, at("2026-10-22 10:00"))
	if !booked.Expected.Equal(at("2026-10-22 11:00")) || booked.Why != "comes Thursday 22 October" {
		t.Errorf("for units that come on the 22nd: %+v", booked)
	}
}

// A bench is not kept idle for what comes in an hour, so what is begun now may be
// in its way, whatever is promised for it.
func TestWhatIsBegunWhileNothingElseCanBeHasRoomAllTheSame(t *testing.T) {
	d := newDesk(t)
	today := day("2026-10-13")
	held := d.takeIn("2026-10-15 18:00")
	d.by.At = at("2026-10-13 11:45")
	d.hold(held, job.WaitingOnParts, today.Format(time.DateOnly)) // from 12:00 on
	d.wants("held", held, "2026-10-13 13:00", "parts due today")
	p := d.plan().Propose(other, time.Time{})
	if !p.Promise.Equal(at("2026-10-15 18:00")) || !p.Expected.Equal(at("2026-10-13 12:45")) {
		t.Errorf("beside a job that comes in a quarter of an hour: %+v", p)
	}
}

// An empty form promises the first of January of the year 1: two thousand years
// of opening hours are not to be counted for it.
func TestAPromiseFarOffIsNotCountedDayByDay(t *testing.T) {
	d := newDesk(t)
	p := d.plan()
	for _, c := range []struct{ typed, as time.Time }{
		{time.Time{}, p.At.AddDate(-1, 0, -1)},
		{p.At.AddDate(7000, 0, 0), p.At.AddDate(1, 0, 1)},
	} {
		if got, want := p.Weigh(other, time.Time{}, c.typed), p.Weigh(other, time.Time{}, c.as); !reflect.DeepEqual(got, want) {
			t.Errorf("promised for %s: %+v, want %+v", c.typed, got, want)
		}
	}
}

func TestNoHoursNoProposal(t *testing.T) {
	d := newDesk(t)
	d.must(shop.AddAbsence(ctx, d.tx, d.act(d.owner), shop.Absence{StaffID: d.bench.Staff, Break: shop.Break{First: day("2026-10-13"), Last: day("2026-10-13"), ToMin: shop.DayEnd}}))
	_, err := d.tx.Exec(ctx, "update staff set left_on = '2026-10-12' where id = $1", d.bench.Staff)
	d.must(err)
	j := d.takeIn("2026-10-15 18:00")
	if p := d.plan().Propose(other, time.Time{}); !p.Promise.IsZero() {
		t.Errorf("nobody is at the bench, and yet: %+v", p)
	}
	if e := d.expected(j); !e.Ready.IsZero() || e.Standing != plan.WillMiss || e.Why != "nobody has hours at the bench for it" {
		t.Errorf("nobody is at the bench: %+v", e)
	}
}

func TestASameDayPromiseSaysWhomItPushes(t *testing.T) {
	d := newDesk(t)
	first := d.takeIn("2026-10-13 18:00")
	second := d.takeIn("2026-10-14 11:30")
	for range 2 {
		d.takeIn("2026-10-13 18:00")
	}
	if e := d.expected(second); e.Standing != plan.Tight || !e.Ready.Equal(at("2026-10-14 10:12")) {
		t.Fatalf("before: %+v", e)
	}
	o := d.plan().Weigh([]plan.Unit{{Work: job.Work{Services: []string{hour}}}, {Work: job.Work{Services: []string{hour}}}}, time.Time{}, at("2026-10-13 18:00"))
	var pushed []string
	for _, p := range o.Pushed {
		pushed = append(pushed, fmt.Sprintf("%d %v", p.Number-first.Number, p.Breaks))
	}
	// Two hours more before all others: of the three promised for today the last
	// two are not ready, nor the one after them.
	if got := strings.Join(pushed, ", "); got != "2 true, 3 true, 1 true" {
		t.Errorf("pushed %s; want 2 and 3 past today, and 1", got)
	}
	if !o.Expected.Equal(at("2026-10-13 16:12")) {
		t.Errorf("ready at %s, want 16:12", o.Expected)
	}
}

func TestTheFewestPromisesToMove(t *testing.T) {
	d := newDesk(t)
	if moves := d.plan().Fewest(); len(moves) != 0 {
		t.Errorf("nothing to move: %+v", moves)
	}
	var jobs []job.Job
	for range 5 { // of which three fit before 18:00
		jobs = append(jobs, d.takeIn("2026-10-13 18:00"))
	}
	p := d.plan()
	if len(p.Broken()) != 2 {
		t.Errorf("broken: %+v, want two", p.Broken())
	}
	moves := p.Fewest()
	if len(moves) != 2 {
		t.Fatalf("to move %+v, want two", moves)
	}
	for _, m := range moves {
		if !m.To.Equal(at("2026-10-16 18:00")) || len(m.Jobs) != 1 || !m.Promised.Equal(at("2026-10-13 18:00")) {
			t.Errorf("move %+v, want to Friday: ready on Wednesday, and two days", m)
		}
	}
	v, err := job.Visit(ctx, d.tx, jobs[0].VisitID)
	d.must(err)
	if o := p.WeighVisit(v.ID, at("2026-10-14 18:00")); !o.Expected.Equal(at("2026-10-14 11:12")) || len(o.Pushed) != 0 {
		t.Errorf("moved to tomorrow: %+v; the others take its place", o)
	}
}

// A page may take 100 ms for the plan of 300 open jobs, of which 30 have a bench
// sheet. go test -v prints what it takes.
func TestThePlanOfThreeHundredJobs(t *testing.T) {
	d := newDesk(t)
	for range 3 {
		dbtest.By(t, d.tx, "mechanic")
	}
	for i := range 300 {
		j := d.takeIn(at("2026-10-14 18:00").AddDate(0, 0, i/5).Format("2006-01-02 15:04"), stands)
		switch i % 10 {
		case 3:
			d.hold(j, job.WaitingOnParts, "2026-10-20")
		case 7:
			d.hold(j, job.WaitingOnCustomer, "")
		case 9:
			d.must(bench.Start(ctx, d.tx, d.act(d.bench), j.ID))
		}
	}
	_, err := d.tx.Exec(ctx, "analyze")
	d.must(err)
	var took []time.Duration
	var p *plan.Plan
	for range 5 {
		begin := time.Now()
		p = d.plan()
		took = append(took, time.Since(begin))
	}
	begin := time.Now()
	proposal := p.Propose(other, time.Time{})
	proposed := time.Since(begin)
	begin = time.Now()
	moves := p.Fewest()
	t.Logf("the plan of 300 open jobs: %v; a proposal (%s) %v; the fewest of %d to move (%d) %v", took, proposal.Promise, proposed, len(p.Broken()), len(moves), time.Since(begin))
	least := took[0]
	for _, one := range took {
		least = min(least, one)
	}
	if least > 100*time.Millisecond {
		t.Errorf("the plan of 300 open jobs takes %v at least", took)
	}
}
