package simulate

import (
	"context"
	"math"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/history"
	"damperdesk/internal/worktime"
)

// mechanic is one at the bench.
type mechanic struct {
	by     history.By
	hours  worktime.Calendar
	at     *fork     // nil: nothing
	began  time.Time // this stretch of it
	since  time.Time // up to when it is signed
	until  time.Time // when what is on the bench comes to its end or a break
	paused []*fork   // what to go on with, the last one first
}

// standing is whether a fork stands before its next step.
func (f *fork) standing() bool { return !f.till.IsZero() }

// stop is with how many of its steps done a fork is next left: to stand, for
// parts or an answer, or because all are done.
func (f *fork) stop() int {
	n := len(f.steps)
	if f.interrupt > 0 {
		n = min(n, max(f.interrupt, f.signed))
	}
	for i := f.signed; i < n; i++ {
		if f.stands(i) {
			return i
		}
	}
	return n
}

// stands is whether it has to stand before step i is signed.
func (f *fork) stands(i int) bool { return f.steps[i].Minutes > 0 || f.overnight(i) }

func (f *fork) overnight(i int) bool { return f.steps[i].SpecKey == "air lost overnight" }

// step is how long one takes.
func (f *fork) step() time.Duration {
	n := len(f.steps)
	for i := range f.steps {
		if f.stands(i) {
			n--
		}
	}
	return time.Duration(f.minutes / float64(n) * float64(time.Minute))
}

// work puts a fork on a bench, from now until its next stop.
func (w *world) work(m *mechanic, f *fork) {
	m.at, m.began, m.since = f, w.now, w.now
	left := time.Duration(f.stop()-f.signed)*f.step() - f.spent
	m.until, _ = m.hours.Add(w.now, max(left, 0))
	w.at(m.until, w.ends(m, f))
}

// catchUp signs what was done on a bench until now.
func (w *world) catchUp(ctx context.Context, m *mechanic) error {
	f := m.at
	if f == nil {
		return nil
	}
	var list []signed
	from, spent := m.since, f.spent
	f.spent += m.hours.Between(m.since, w.now)
	if w.now.Equal(m.until) { // what was rounded away
		f.spent = time.Duration(f.stop()-f.signed) * f.step()
	}
	m.since = w.now
	stop := f.stop()
	for f.signed < stop && f.spent >= f.step() {
		at, _ := m.hours.Add(from, max(time.Duration(len(list)+1)*f.step()-spent, 0))
		if at.After(w.now) {
			at = w.now
		}
		list = append(list, signed{f.steps[f.signed], at})
		f.spent -= f.step()
		f.signed++
	}
	return w.sign(ctx, m, f, list)
}

// catchAllUp signs what was done on all benches, before somebody looks at the line.
func (w *world) catchAllUp(ctx context.Context) error {
	for _, m := range w.benches {
		if err := w.catchUp(ctx, m); err != nil {
			return err
		}
	}
	return nil
}

// ends is the end of a stretch of work, where it was not put off since.
func (w *world) ends(m *mechanic, f *fork) func(context.Context) error {
	return func(ctx context.Context) error {
		if m.at != f || !m.until.Equal(w.now) {
			return nil
		}
		if err := w.catchUp(ctx, m); err != nil {
			return err
		}
		m.at, f.spent = nil, 0
		err := w.leave(ctx, m, f)
		if n := len(m.paused); n > 0 && err == nil {
			top := m.paused[n-1]
			m.paused = m.paused[:n-1]
			err = w.start(ctx, m, top)
		}
		return err
	}
}

// leave is what becomes of a fork that somebody leaves.
func (w *world) leave(ctx context.Context, m *mechanic, f *fork) error {
	switch {
	case f.signed == len(f.steps):
		return w.finish(ctx, m, f)
	case f.interrupt > 0 && f.signed >= f.interrupt:
		f.interrupt = 0
		return w.wait(ctx, m, f)
	}
	f.till = w.now.Add(time.Duration(f.steps[f.signed].Minutes) * time.Minute)
	if f.overnight(f.signed) {
		f.till, _, _ = w.open.Next(w.midnight(w.now, 1))
	}
	w.at(f.till, w.back(m, f))
	return nil
}

// back is a fork that has stood: its mechanic leaves what they are at for it.
func (w *world) back(m *mechanic, f *fork) func(context.Context) error {
	return func(ctx context.Context) error {
		if !f.standing() {
			return nil
		}
		from, _, ok := m.hours.Next(w.now)
		if !ok || from.After(w.now) {
			w.at(from, w.back(m, f))
			return nil
		}
		if m.at != nil && m.began.Equal(w.now) {
			m.paused = append(m.paused, f) // both came back in the night
			return nil
		}
		return w.goOn(ctx, m, f)
	}
}

func (w *world) goOn(ctx context.Context, m *mechanic, f *fork) error {
	if err := w.catchUp(ctx, m); err != nil {
		return err
	}
	if m.at != nil {
		m.paused = append(m.paused, m.at)
	}
	f.till = time.Time{}
	step := f.steps[f.signed]
	f.signed++
	if err := w.sign(ctx, m, f, []signed{{step, w.now}}); err != nil {
		return err
	}
	w.work(m, f)
	return nil
}

// start takes a fork to the bench, or goes on with it.
func (w *world) start(ctx context.Context, m *mechanic, f *fork) error {
	if f.standing() {
		return w.goOn(ctx, m, f)
	}
	if len(f.steps) > 0 {
		w.work(m, f)
		return nil
	}
	err := w.act(ctx, m.by, func(tx pgx.Tx, by history.By) error {
		if err := bench.Start(ctx, tx, by, f.job); err != nil {
			return err
		}
		sheet, err := bench.Get(ctx, tx, f.job)
		f.steps = sheet.Steps
		return err
	})
	if err != nil {
		return err
	}
	if f.parts || f.question {
		f.interrupt = int(math.Max(1, interruptAt*float64(len(f.steps))))
	}
	w.work(m, f)
	return nil
}
