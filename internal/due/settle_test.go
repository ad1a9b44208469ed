package due_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/due"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
)

// table is all rows but the day they were reckoned on.
func (b bench) table() []string {
	b.t.Helper()
	rows, err := b.tx.Query(ctx, "select (to_jsonb(d) - 'reckoned_on')::text from due d order by unit_id, service_code")
	b.must(err)
	list, err := pgx.CollectRows(rows, pgx.RowTo[string])
	b.must(err)
	return list
}

// anew is the table after everything was reckoned from nothing.
func (b bench) anew(date string) []string {
	b.t.Helper()
	_, err := b.tx.Exec(ctx, "delete from due")
	b.must(err)
	rows, err := b.tx.Query(ctx, "select id from unit")
	b.must(err)
	units, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	b.must(err)
	b.must(due.Reckon(ctx, b.tx, units, day(date)))
	return b.table()
}

// Whatever is done, what the act settles is what reckoning everything anew
// gives: the triggers miss nothing that counts.
func TestAnActSettlesAllThatItTouches(t *testing.T) {
	for seed := range uint64(6) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			w := wild{bench: newBench(t, "north"), rand: rand.New(rand.NewPCG(seed, 68)), day: day("2024-01-10")}
			settled := 0
			for range 120 {
				did := w.act()
				date := w.day.Format(time.DateOnly)
				w.must(due.Settle(ctx, w.tx, day(date)))
				got := w.table()
				if want := w.anew(date); !slices.Equal(got, want) {
					t.Fatalf("after %s on %s:\n got %s\nwant %s", did, date, got, want)
				}
				settled += len(got)
			}
			if settled < 100 {
				t.Errorf("only %d rows were compared", settled)
			}
		})
	}
}

// wild does something to some unit on some day.
type wild struct {
	bench
	rand  *rand.Rand
	day   time.Time
	units []int64
	open  map[int64]int64 // jobs by unit
}

func (w *wild) act() string {
	w.day = w.day.AddDate(0, 0, w.rand.IntN(40))
	date := w.day.Format(time.DateOnly)
	if w.open == nil {
		w.open = map[int64]int64{}
	}
	if len(w.units) < 2 || len(w.units) < 6 && w.rand.IntN(6) == 0 {
		w.units = append(w.units, w.unit([]string{"fork", "rear shock", "seatpost"}[w.rand.IntN(3)], "One of many"))
		return "a new unit"
	}
	unit := w.units[w.rand.IntN(len(w.units))]
	acts := []func(unit int64, date string) string{w.say, w.habit, w.meter, w.takeBack, w.elsewhere, w.bookBack, w.happen, w.rule, w.shopWide, w.change}
	if w.rand.IntN(2) == 0 {
		return w.work(unit, date)
	}
	return acts[w.rand.IntN(len(acts))](unit, date)
}

func (w *wild) tell(unit int64, date string, s interval.Said) {
	w.t.Helper()
	by := w.on(date)
	today := interval.Day(by.At, time.UTC)
	if len(s.Check(today)) == 0 {
		w.must(interval.Say(ctx, w.tx, by, unit, s, today))
	}
}

func (w *wild) say(unit int64, date string) string {
	since := interval.Day(w.day, time.UTC).AddDate(0, 0, -w.rand.IntN(90))
	s := interval.Said{Hours: number(float64(w.rand.IntN(30))), HoursSince: &since}
	if w.rand.IntN(4) == 0 {
		s.HoursSince = nil
	}
	w.tell(unit, date, s)
	return "hours"
}

func (w *wild) habit(unit int64, date string) string {
	w.tell(unit, date, interval.Said{RidesAWeek: number(float64(w.rand.IntN(4))), HoursARide: number(1.5),
		Season: interval.Seasons[w.rand.IntN(len(interval.Seasons))], Conditions: []string{interval.Wet}})
	return "a habit"
}

func (w *wild) meter(unit int64, date string) string {
	w.tell(unit, date, interval.Said{Meter: number(100 + w.day.Sub(day("2024-01-10")).Hours()/24/7*3)})
	return "a meter"
}

// takeBack takes back some reading that stands.
func (w *wild) takeBack(unit int64, date string) string {
	list, err := interval.Readings(ctx, w.tx, unit)
	w.must(err)
	list = slices.DeleteFunc(list, func(r interval.Reading) bool { return !r.Standing() })
	if len(list) == 0 {
		return "nothing to take back"
	}
	r := list[w.rand.IntN(len(list))]
	w.must(interval.TakeBack(ctx, w.tx, w.on(date), unit, r.ID, "typed for less"))
	return r.Kind + " taken back"
}

// elsewhere brings a service that another shop did.
func (w *wild) elsewhere(unit int64, date string) string {
	by := w.on(date)
	_, err := w.tx.Exec(ctx, `insert into elsewhere_service (unit_id, ref, day, shop, services, found, readings, settings, actor_id, intent_id, at)
		values ($1, $2, $3, 'Fork Loft', '[{"code": "lower-leg", "name": "Lower-leg service"}]', '[]', '[]', '[]', $4, $5, $6)`,
		unit, by.Intent, interval.Day(by.At, time.UTC).AddDate(0, 0, -w.rand.IntN(200)), by.Staff, by.Intent, by.At)
	w.must(err)
	return "a service elsewhere"
}

// bookBack takes back a book that was read in.
func (w *wild) bookBack(unit int64, date string) string {
	by := w.on(date)
	_, err := w.tx.Exec(ctx, `insert into book_taken_back (read_in, unit_id, reason, actor_id, intent_id, at)
		select intent_id, unit_id, 'of another', $2, $3, $4 from elsewhere_service
		where unit_id = $1 and intent_id not in (select read_in from book_taken_back) order by id limit 1`, unit, by.Staff, by.Intent, by.At)
	w.must(err)
	return "a book taken back"
}

func (w *wild) happen(unit int64, date string) string {
	by := w.on(date)
	today := interval.Day(by.At, time.UTC)
	h := interval.Happened{Kind: interval.Happenings[w.rand.IntN(len(interval.Happenings))]}
	if h.Kind == interval.Stored {
		from := today.AddDate(-1, 0, 0)
		h.On = &from
	}
	w.must(interval.Happen(ctx, w.tx, by, unit, h, interval.AtDesk, today))
	return h.Kind
}

func (w *wild) rule(_ int64, date string) string {
	rules, err := interval.ReadRules(ctx, w.tx)
	w.must(err)
	r := rules.Default([]string{"lower-leg", "air-spring", "full", "damper"}[w.rand.IntN(4)])
	r.Hours, r.Months, r.Season = 10+w.rand.IntN(60), w.rand.IntN(15), w.rand.IntN(2) == 0
	w.must(interval.Set(ctx, w.tx, w.on(date), r))
	return "a rule"
}

// shopWide changes what all units are judged by.
func (w *wild) shopWide(_ int64, date string) string {
	switch w.rand.IntN(4) {
	case 0:
		factors, err := interval.ReadFactors(ctx, w.tx)
		w.must(err)
		f := factors[interval.Wet]
		f.Factor = 1 + float64(w.rand.IntN(10))/10
		w.must(interval.SetFactors(ctx, w.tx, w.on(date), []interval.Factor{f}))
		return "a factor"
	case 1:
		settings, err := shop.Get(ctx, w.tx)
		w.must(err)
		w.must(shop.SetSeason(ctx, w.tx, w.on(date), settings.Version, shop.YearDay{Month: time.Month(1 + w.rand.IntN(5)), Day: 9}, shop.YearDay{Month: time.Month(8 + w.rand.IntN(4)), Day: 20}))
		return "a season"
	case 2:
		rules, err := interval.ReadEventRules(ctx, w.tx)
		w.must(err)
		r := rules[w.rand.IntN(len(rules))]
		r.Hint, r.Months = false, 1+w.rand.IntN(9)
		w.must(interval.SetEvent(ctx, w.tx, w.on(date), r))
		return "an event's rule"
	}
	_, err := w.tx.Exec(ctx, "update service set covers = case when covers = '{}' then '{lower-leg}'::text[] else '{}'::text[] end where code = 'air-spring'")
	w.must(err)
	return "what a service covers"
}

// change corrects facts of a unit and its jobs.
func (w *wild) change(unit int64, _ string) string {
	sql := []string{
		"update unit set kind = case kind when 'fork' then 'rear shock' else 'fork' end where id = $1",
		"update job set rider_kg = 80 + id % 50, ebike = not ebike where unit_id = $1",
		"update job set ready_at = ready_at - interval '3 days' where unit_id = $1 and closed_at is not null",
		"delete from job_service where job_id in (select max(id) from job where unit_id = $1) and service_code = 'lower-leg'",
	}[w.rand.IntN(4)]
	_, err := w.tx.Exec(ctx, sql, unit)
	w.must(err)
	return sql
}

// work brings a unit in, or ends the job it is here for.
func (w *wild) work(unit int64, date string) string {
	id, here := w.open[unit]
	if !here {
		var kind string
		w.must(w.tx.QueryRow(ctx, "select kind from unit where id = $1", unit).Scan(&kind))
		services, err := procedure.Services(ctx, w.tx)
		w.must(err)
		services = slices.DeleteFunc(services, func(s procedure.Service) bool { return !s.For(kind) || s.Spring() == "coil" })
		w.open[unit] = w.bring(unit, date, interval.Said{}, services[w.rand.IntN(len(services))].Code)
		return "taken in"
	}
	delete(w.open, unit)
	if w.rand.IntN(4) == 0 {
		w.must(job.Cancel(ctx, w.tx, w.on(date), id, []string{"returned undone", "left for scrap"}[w.rand.IntN(2)], "as agreed"))
		return "cancelled"
	}
	w.ready(id, date)
	w.must(job.HandOver(ctx, w.tx, w.on(date), id, ""))
	return "picked up"
}
