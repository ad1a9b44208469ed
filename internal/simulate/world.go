package simulate

import (
	"container/heap"
	"context"
	"math"
	"math/rand/v2"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
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

	events   events
	desk     history.By
	owner    history.By
	benches  []*bench
	open     worktime.Calendar
	zone     *time.Location
	customer int64
	forks    map[int64]*fork // by job
	all      []*fork
	came     int
}

// bench is a mechanic.
type bench struct {
	by    history.By
	hours worktime.Calendar
	at    *fork // nil: nothing
	since time.Time
	until time.Time // when what is on the bench comes to its end or its break
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

// next says whether anything is still to come.
func (w *world) next() bool { return w.events.Len() > 0 }

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
		w.at(at, w.arrive)
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
	done := 0
	for _, f := range w.all {
		if !f.ready.IsZero() {
			done++
		}
	}
	if done == w.o.Jobs {
		return nil
	}
	tomorrow := time.Date(w.now.Year(), w.now.Month(), w.now.Day()+1, 0, 0, 0, 0, w.zone)
	next, _, _ := w.open.Next(tomorrow)
	w.at(next, w.morning)
	return nil
}

// away keeps the absence and lets the work on the bench wait for its mechanic.
func (w *world) away(ctx context.Context, b *bench) error {
	y, m, d := w.now.In(w.zone).Date()
	today := time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	if err := w.callIn(ctx, b, shop.Break{First: today, Last: today, ToMin: shop.DayEnd}); err != nil {
		return err
	}
	had := b.hours
	if err := w.readHours(ctx); err != nil {
		return err
	}
	if b.at != nil {
		b.until, _ = b.hours.Add(w.now, had.Between(w.now, b.until))
		w.at(b.until, w.ends(b, b.at))
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
			if line, err = plan.Read(ctx, w.pool, w.now); err != nil {
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

// work puts a fork on a bench until it is done or stops for something.
func (w *world) work(b *bench, f *fork) {
	b.at, b.since = f, w.now
	b.until, _ = b.hours.Add(w.now, time.Duration((f.left-f.interrupt)*float64(time.Minute)))
	w.at(b.until, w.ends(b, f))
}

// ends is the end of work, where it was not put off since.
func (w *world) ends(b *bench, f *fork) func(context.Context) error {
	return func(ctx context.Context) error {
		if b.at != f || !b.until.Equal(w.now) {
			return nil
		}
		b.at = nil
		if f.interrupt > 0 {
			f.left, f.interrupt = f.interrupt, 0
			return w.stop(ctx, f)
		}
		f.left = 0
		return w.finish(ctx, b, f)
	}
}
