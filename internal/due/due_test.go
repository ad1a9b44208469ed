package due_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/due"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

var ctx = context.Background()

// bench is a shop of the north in London with the shipped services and rules,
// and a customer.
type bench struct {
	t        testing.TB
	tx       pgx.Tx
	by       history.By
	customer int64
}

func newBench(t testing.TB, hemisphere string) bench {
	t.Helper()
	tx := dbtest.Tx(t)
	b := bench{t: t, tx: tx, by: dbtest.By(t, tx, "desk", "mechanic", "owner")}
	b.must(procedure.Install(ctx, tx, b.by))
	b.must(interval.Install(ctx, tx, b.by))
	b.must(shop.Save(ctx, tx, b.by, shop.Settings{Name: "Weir Lane Cycles", Zone: "Europe/London", Currency: "GBP", Hemisphere: hemisphere,
		TorqueUnit: "N·m", VolumeUnit: "mL", PressureUnit: "psi", MassUnit: "kg"}))
	var err error
	b.customer, err = customer.Add(ctx, tx, b.by, customer.Details{Name: "Odette Marsh", Phone: "07700 900118"})
	b.must(err)
	return b
}

func (b bench) must(err error) {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
}

func day(text string) time.Time {
	at, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic(err)
	}
	return at.Add(12 * time.Hour)
}

// on is an act at noon UTC of a day.
func (b bench) on(date string) history.By {
	by := dbtest.Act(b.t, b.tx, b.by)
	by.At = day(date)
	return by
}

func (b bench) unit(kind, words string) int64 {
	b.t.Helper()
	id, err := customer.AddUnit(ctx, b.tx, b.by, b.customer, customer.UnitDetails{Kind: kind, ModelWords: words})
	b.must(err)
	return id
}

// bring takes a unit in for services; said is what the rider says.
func (b bench) bring(unit int64, date string, said interval.Said, services ...string) int64 {
	b.t.Helper()
	by := b.on(date)
	visit, err := job.TakeIn(ctx, b.tx, by, job.DropOff{CustomerID: b.customer, PromisedAt: by.At.Add(48 * time.Hour), Currency: "GBP",
		Units: []job.DropOffUnit{{UnitID: unit, Services: services, Said: said}}})
	b.must(err)
	v, err := job.Visit(ctx, b.tx, visit)
	b.must(err)
	return v.Jobs[0].ID
}

// ready works on a job up to the day it is ready.
func (b bench) ready(id int64, date string) {
	b.t.Helper()
	for _, stage := range []string{job.InQueue, job.OnBench, job.FinalCheck, job.Ready} {
		b.must(job.Move(ctx, b.tx, b.on(date), id, stage, ""))
	}
}

// serve is a service that is done, ready and picked up on one day.
func (b bench) serve(unit int64, date string, services ...string) {
	b.t.Helper()
	id := b.bring(unit, date, interval.Said{}, services...)
	b.ready(id, date)
	b.must(job.HandOver(ctx, b.tx, b.on(date), id, ""))
}

func (b bench) say(unit int64, date string, s interval.Said) {
	b.t.Helper()
	by := b.on(date)
	b.must(interval.Say(ctx, b.tx, by, unit, s, interval.Day(by.At, time.UTC)))
}

// list is the due list on a day: of each unit its services, states and the day
// they were last done.
func (b bench) list(date string) map[int64]string {
	b.t.Helper()
	list := map[int64]string{}
	for _, r := range b.ask(date, due.Ask{Rows: 100}).Rows {
		list[r.ID] = strings.TrimPrefix(list[r.ID]+", "+words(r), ", ")
	}
	return list
}

// ask settles what the acts before it have touched, and reads the list.
func (b bench) ask(date string, ask due.Ask) due.Listing {
	b.t.Helper()
	b.must(due.Settle(ctx, b.tx, day(date)))
	found, err := due.List(ctx, b.tx, day(date), ask)
	b.must(err)
	return found
}

func words(r due.Row) string {
	last := "never"
	if s := r.Served; s != nil {
		last = s.Ready.Format(time.DateOnly)
	}
	return strings.TrimSpace(fmt.Sprintf("%s %s %s", r.Code, r.State(), last))
}

func (b bench) expect(date string, unit int64, want string) {
	b.t.Helper()
	if got := b.list(date)[unit]; got != want {
		b.t.Errorf("on %s: got %q, want %q", date, got, want)
	}
}

func number(v float64) *float64 { return &v }

// Lower legs every 50 h or yearly: common practice (no source).
func TestOnlyDoneResets(t *testing.T) {
	b := newBench(t, "north")
	fork := b.unit("fork", "Tindra Lode")
	b.expect("2025-01-01", fork, "unknown never")
	b.serve(fork, "2025-01-10", "lower-leg")
	b.expect("2025-02-01", fork, "lower-leg unknown 2025-01-10")
	b.expect("2026-01-10", fork, "lower-leg due 2025-01-10")
	at := day("2025-03-01")
	for _, e := range job.Endings {
		if e.Name == "left for scrap" || e.Booked {
			continue
		}
		date := at.Format(time.DateOnly)
		id := b.bring(fork, date, interval.Said{}, "lower-leg")
		b.expect(date, fork, "lower-leg here now 2025-01-10")
		b.must(job.Cancel(ctx, b.tx, b.on(date), id, e.Name, "as agreed"))
		b.expect(date, fork, "lower-leg unknown 2025-01-10")
		at = at.AddDate(0, 0, 7)
	}
	b.expect("2026-01-10", fork, "lower-leg due 2025-01-10")
	b.serve(fork, "2026-01-20", "lower-leg")
	b.expect("2026-01-20", fork, "lower-leg unknown 2026-01-20")
}

// What is ready is not done before it is handed over.
func TestAUnitThatIsHereIsNotDue(t *testing.T) {
	b := newBench(t, "north")
	fork := b.unit("fork", "Tindra Lode")
	b.serve(fork, "2025-01-10", "lower-leg")
	id := b.bring(fork, "2026-04-01", interval.Said{}, "lower-leg")
	b.expect("2026-04-02", fork, "lower-leg here now 2025-01-10")
	b.ready(id, "2026-04-03")
	b.expect("2026-04-04", fork, "lower-leg here now 2025-01-10")
	b.must(job.HandOver(ctx, b.tx, b.on("2026-04-20"), id, ""))
	b.expect("2026-04-20", fork, "lower-leg unknown 2026-04-03")
	rows, err := due.OfUnit(ctx, b.tx, fork, day("2026-04-20"))
	b.must(err)
	if got := rows[0].Served.Left.Format(time.DateOnly); got != "2026-04-20" {
		t.Errorf("it left on %s, want 2026-04-20", got)
	}
}

func TestScrapIsNotRungFor(t *testing.T) {
	b := newBench(t, "north")
	fork := b.unit("fork", "Tindra Lode")
	b.serve(fork, "2025-01-10", "lower-leg")
	id := b.bring(fork, "2026-04-01", interval.Said{}, "lower-leg")
	b.must(job.Cancel(ctx, b.tx, b.on("2026-04-02"), id, "left for scrap", "agreed by phone"))
	b.expect("2026-04-03", fork, "")
	b.bring(fork, "2026-05-01", interval.Said{}, "lower-leg") // it was not scrapped after all
	b.expect("2026-05-02", fork, "lower-leg here now 2025-01-10")
}

// An air-spring service takes the lowers off and oils them: it covers the
// lower-leg service, common practice (no source).
func TestAServiceResetsWhatItCovers(t *testing.T) {
	b := newBench(t, "north")
	fork := b.unit("fork", "Tindra Lode")
	b.serve(fork, "2025-01-10", "air-spring")
	b.expect("2025-01-11", fork, "air-spring unknown 2025-01-10")
	b.serve(fork, "2025-07-10", "lower-leg")
	b.expect("2026-01-10", fork, "air-spring due 2025-01-10")
	b.must(interval.Set(ctx, b.tx, b.on("2026-01-10"), interval.Rule{ServiceCode: "lower-leg", Months: 5, Version: 1}))
	b.expect("2026-02-07", fork, "air-spring overdue 2025-01-10")
	b.expect("2025-12-20", fork, "lower-leg due 2025-07-10, air-spring soon 2025-01-10")
	found := b.ask("2026-02-07", due.Ask{Service: "lower-leg", Rows: 100})
	if len(found.Rows) != 1 || words(found.Rows[0]) != "lower-leg overdue 2025-07-10" || len(found.Services) != 2 {
		t.Errorf("the list of one service is %+v; want its own row, and both services to choose from", found)
	}
	rows, err := due.OfUnit(ctx, b.tx, fork, day("2026-02-07"))
	b.must(err)
	var all []string
	for _, r := range rows {
		all = append(all, words(r))
	}
	// The fork's spring is not known, but no coil spring has a rule.
	want := []string{"lower-leg overdue 2025-07-10", "air-spring overdue 2025-01-10", "damper unknown never", "full unknown never"}
	if !slices.Equal(all, want) {
		t.Errorf("its book has %q, want %q", all, want)
	}
}

func TestAUnitWithoutAnyRuleIsNotListed(t *testing.T) {
	b := newBench(t, "north")
	post := b.unit("seatpost", "150 mm of drop")
	b.expect("2026-01-10", post, "")
	fork := b.unit("fork", "Tindra Lode")
	b.serve(fork, "2025-01-10", "other")
	b.expect("2026-01-10", fork, "unknown never")
}

func TestHoursSaidAtTheCounterCount(t *testing.T) {
	b := newBench(t, "north")
	fork := b.unit("fork", "Tindra Lode")
	b.serve(fork, "2025-01-10", "lower-leg")
	// 2 rides of 90 min a week since 10 January are 52 weeks × 3 h by the end of
	// the year, but the rider knows of 61 h.
	id := b.bring(fork, "2025-05-01", interval.Said{Hours: number(61), RidesAWeek: number(2), HoursARide: number(1.5)}, "lower-leg")
	b.must(job.Cancel(ctx, b.tx, b.on("2025-05-02"), id, "returned undone", ""))
	b.expect("2025-05-02", fork, "lower-leg overdue 2025-01-10")
	readings, err := interval.Readings(ctx, b.tx, fork)
	b.must(err)
	if len(readings) != 2 || readings[0].Since == nil || readings[0].Since.Format(time.DateOnly) != "2025-01-10" || readings[1].Since != nil {
		t.Fatalf("readings %+v; want hours since 2025-01-10 and a habit", readings)
	}
	b.serve(fork, "2025-06-01", "lower-leg")
	b.expect("2025-07-06", fork, "lower-leg fine 2025-06-01") // 5 weeks, 15 h
	// 14 weeks of 3 h are 42 h, but 61 h were counted in 16 weeks from January on.
	b.expect("2025-09-07", fork, "lower-leg overdue 2025-06-01")
	b.say(fork, "2025-09-07", interval.Said{Hours: number(12)})
	b.expect("2025-09-07", fork, "lower-leg fine 2025-06-01")
}

// The season ends on 31 October in the north and 30 April in the south: common
// practice (no source).
func TestTheShopsHemisphereDecidesTheSeason(t *testing.T) {
	for hemisphere, ends := range map[string][2]string{"north": {"2025-10-31", "2026-03-01"}, "south": {"2025-04-30", "2025-09-01"}} {
		t.Run(hemisphere, func(t *testing.T) {
			b := newBench(t, hemisphere)
			b.must(interval.Set(ctx, b.tx, b.on("2025-01-10"), interval.Rule{ServiceCode: "lower-leg", Season: true, Version: 1}))
			fork := b.unit("fork", "Tindra Lode")
			b.serve(fork, "2025-01-10", "lower-leg")
			b.expect(ends[0], fork, "lower-leg due 2025-01-10")
			b.expect(ends[1], fork, "lower-leg overdue 2025-01-10")
		})
	}
}

// London is an hour ahead of UTC in summer (tzdata): late in the evening UTC it
// is the next day there.
func TestDaysAreTheShops(t *testing.T) {
	b := newBench(t, "north")
	fork := b.unit("fork", "Tindra Lode")
	id := b.bring(fork, "2025-06-30", interval.Said{}, "lower-leg")
	by := b.on("2025-06-30")
	by.At = by.At.Add(11*time.Hour + 30*time.Minute) // 23:30 UTC
	for _, stage := range []string{job.InQueue, job.OnBench, job.FinalCheck, job.Ready} {
		b.must(job.Move(ctx, b.tx, by, id, stage, ""))
	}
	b.must(job.HandOver(ctx, b.tx, by, id, ""))
	b.expect("2026-06-30", fork, "lower-leg soon 2025-07-01")
	b.expect("2026-07-01", fork, "lower-leg due 2025-07-01")
}

func TestTheListBeginsWithWhatCannotWait(t *testing.T) {
	b := newBench(t, "north")
	for _, last := range []string{"2025-01-10", "2025-04-01", "2025-03-01", "2025-04-20", "2025-09-01"} {
		b.serve(b.unit("fork", "done "+last), last, "lower-leg")
	}
	b.unit("fork", "never done")
	b.bring(b.unit("fork", "here"), "2026-04-01", interval.Said{}, "lower-leg")
	found := b.ask("2026-04-02", due.Ask{Rows: 100})
	var got []string
	for _, r := range found.Rows {
		got = append(got, words(r))
	}
	want := []string{"lower-leg overdue 2025-01-10", "lower-leg overdue 2025-03-01", "lower-leg due 2025-04-01", "lower-leg soon 2025-04-20",
		"lower-leg unknown 2025-09-01", "unknown never", "here now never"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

// The customer's page counts from the day it was ready, by the same rules.
func TestWhatTheCustomerReads(t *testing.T) {
	b := newBench(t, "north")
	settings, err := shop.Get(ctx, b.tx)
	b.must(err)
	next, err := due.After(ctx, b.tx, []string{"air-spring"}, 0, day("2024-02-29"), settings)
	b.must(err)
	var got []string
	for _, n := range next {
		got = append(got, fmt.Sprintf("%s %d h %s", n.Service, n.Rule.Hours, n.Dates[0].On.Format(time.DateOnly)))
	}
	want := []string{"Lower-leg service 50 h 2025-02-28", "Air-spring service 50 h 2025-02-28"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}
