package simulate

import (
	"container/heap"
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/plan"
	"damperdesk/internal/shop"
	"damperdesk/internal/worktime"
)

// world is the run as it stands at now.
type world struct {
	pool *db.Pool
	r    *rand.Rand
	o    Options
	now  time.Time

	events     events
	desk       history.By
	owner      history.By
	benches    []*mechanic
	model      int64
	wrenches   []int64
	calibrated time.Time
	tended     int       // forks that had come when the database was
	last       time.Time // when the last of those comes who were not here before
	open       worktime.Calendar
	zone       *time.Location
	customer   int64
	forks      map[int64]*fork // by job
	all        []*fork
	came       int
}

// event is something that happens; the later ones of a moment after the earlier.
type event struct {
	at time.Time
	n  int
	do func(context.Context) error
}

type events []event

func (e events) Len() int { return len(e) }
func (e events) Less(i, j int) bool {
	return e[i].at.Before(e[j].at) || e[i].at.Equal(e[j].at) && e[i].n < e[j].n
}
func (e events) Swap(i, j int) { e[i], e[j] = e[j], e[i] }
func (e *events) Push(x any)   { *e = append(*e, x.(event)) }
func (e *events) Pop() any {
	old := *e
	last := old[len(old)-1]
	*e = old[:len(old)-1]
	return last
}

func (w *world) at(t time.Time, do func(context.Context) error) {
	w.came++
	heap.Push(&w.events, event{t, w.came, do})
}

// happen lets the next thing happen, then whoever is free takes up what the line
// says.
func (w *world) happen(ctx context.Context) error {
	e := heap.Pop(&w.events).(event)
	w.now = e.at
	if err := e.do(ctx); err != nil {
		return err
	}
	return w.takeUp(ctx)
}

// plan draws when who comes; a morning begins each opening day until all are
// ready.
func (w *world) plan(ctx context.Context) error {
	perMinute := w.o.Load * mechanics / meanMinutes()
	at, busy := w.now, map[int]float64{}
	for range w.o.Jobs {
		week := int(at.Sub(begin).Hours() / (7 * 24))
		if busy[week] == 0 {
			busy[week] = math.Exp(w.o.Uneven*w.r.NormFloat64() - w.o.Uneven*w.o.Uneven/2)
		}
		at, _ = w.open.Add(at, time.Duration(w.r.ExpFloat64()/perMinute/busy[week]*float64(time.Minute)))
		w.at(at, func(ctx context.Context) error { return w.arrive(ctx, w.draw()) })
		w.last = at
	}
	first, _, _ := w.open.Next(w.now)
	w.at(first, w.morning)
	return nil
}

// morning is when somebody may call in sick.
func (w *world) morning(ctx context.Context) error {
	for _, b := range w.benches {
		if w.r.Float64() < sick {
			if err := w.away(ctx, b); err != nil {
				return err
			}
		}
	}
	if w.now.Sub(w.calibrated) > 28*24*time.Hour {
		if err := w.act(ctx, w.owner, func(tx pgx.Tx, by history.By) error { return w.calibrate(ctx, tx, by) }); err != nil {
			return err
		}
	}
	if w.o.Tend != nil && len(w.all) >= w.tended*3/2 {
		if err := w.o.Tend(ctx); err != nil {
			return err
		}
		w.tended = max(5, len(w.all))
	}
	if w.events.Len() > 0 || slices.ContainsFunc(w.all, func(f *fork) bool { return f.ready.IsZero() }) {
		next, _, _ := w.open.Next(w.midnight(w.now, 1))
		w.at(next, w.morning)
	}
	return nil
}

// midnight is the one that begins the day so many days after a moment's.
func (w *world) midnight(at time.Time, days int) time.Time {
	y, m, d := at.In(w.zone).Date()
	return time.Date(y, m, d+days, 0, 0, 0, 0, w.zone)
}

// away keeps the absence and lets the work on the bench wait for its mechanic.
func (w *world) away(ctx context.Context, m *mechanic) error {
	if err := w.catchUp(ctx, m); err != nil {
		return err
	}
	today := interval.Day(w.now, w.zone)
	if err := w.callIn(ctx, m, shop.Break{First: today, Last: today, ToMin: shop.DayEnd}); err != nil {
		return err
	}
	if err := w.readHours(ctx); err != nil {
		return err
	}
	if m.at != nil {
		w.work(m, m.at)
	}
	return nil
}

// takeUp lets each mechanic who is there and free do what the line says is next.
func (w *world) takeUp(ctx context.Context) error {
	var line *plan.Plan
	for _, b := range w.benches {
		from, _, ok := b.hours.Next(w.now)
		if b.at != nil || !ok || from.After(w.now) {
			continue
		}
		if line == nil {
			var err error
			if line, err = w.line(ctx, w.pool); err != nil {
				return err
			}
		}
		e, ok := line.Next(b.by.Staff)
		if !ok {
			continue
		}
		if err := w.start(ctx, b, w.forks[e.JobID]); err != nil {
			return err
		}
		line = nil
	}
	return nil
}

// line is the plan as the pages have it.
func (w *world) line(ctx context.Context, q db.Querier) (*plan.Plan, error) {
	if err := w.catchAllUp(ctx); err != nil {
		return nil, err
	}
	return plan.Read(ctx, q, w.now)
}
