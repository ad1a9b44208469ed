// Package lineup says when each job of a bench comes to its end: jobs one after
// the other in the order of what was promised, over mechanics with hours of
// their own.
package lineup

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"damperdesk/internal/worktime"
)

// Rank is what comes before the order of promises.
type Rank int

const (
	InLine   Rank = iota
	NextUp        // as soon as somebody is free
	SameDay       // promised for the day: out of the reserve, before NextUp
	UnderWay      // begun: nothing comes before it
)

// Job is work that waits for a mechanic.
type Job struct {
	ID   int64
	Left time.Duration // at the bench
	// From is when it can be worked on; the zero time is at once.
	From time.Time
	// Due is what was promised; the zero time is nothing, which comes last.
	Due      time.Time
	Mechanic int64    // 0: whoever is free first
	Skills   []string // all of which a mechanic has to have
	Rank     Rank
	// Waits are what it stands for between stretches of work, such as overnight,
	// in their order. Nobody is at it then: its mechanic does other work, and
	// leaves that once the wait is over.
	Waits []Wait
}

// Wait is a time for which a job stands.
type Wait struct {
	Left time.Duration // of the work, when it begins
	// Until is when it is over that begins at a time; not before that time.
	Until func(begun time.Time) time.Time
}

// stretch is how much of the work is done before the nth wait, or after the last.
func (j Job) stretch(n int) time.Duration {
	left := j.Left
	if n > 0 {
		left = j.Waits[n-1].Left
	}
	if n < len(j.Waits) {
		left -= j.Waits[n].Left
	}
	return left
}

// stands is whether it is begun and nobody is at it now.
func (j Job) stands() bool {
	return j.Rank == UnderWay && j.Mechanic != 0 && len(j.Waits) > 0 && j.stretch(0) == 0
}

// Mechanic is somebody at the bench.
type Mechanic struct {
	ID     int64
	Hours  worktime.Calendar
	Skills []string
}

// Line is the jobs in the order they are taken up: by rank, then as they are
// due, then by id, so that the same jobs always stand in the same order.
//
// It keeps the hours it has walked through, so it is for one goroutine.
type Line struct {
	at      time.Time
	stretch float64
	benches []*bench
	jobs    []Job
}

// New makes the line as of a moment. reserve is the share of everybody's hours
// that is kept free for what nobody has booked: work in line takes that much
// longer, what is promised for the same day uses it up.
func New(at time.Time, reserve float64, mechanics []Mechanic, jobs []Job) (*Line, error) {
	if !(reserve >= 0 && reserve < 1) {
		return nil, fmt.Errorf("reserve %v: it has to be at least 0 and below 1", reserve)
	}
	l := &Line{at: at, stretch: 1 / (1 - reserve)}
	for _, m := range mechanics {
		if m.ID == 0 || l.bench(m.ID) != nil {
			return nil, fmt.Errorf("mechanic %d: each has an id, once", m.ID)
		}
		l.benches = append(l.benches, &bench{Mechanic: m, begin: at})
	}
	seen := map[int64]bool{}
	for _, j := range jobs {
		if seen[j.ID] {
			return nil, fmt.Errorf("job %d is in line twice", j.ID)
		}
		seen[j.ID] = true
	}
	return l.With(jobs...)
}

// With is the line with these jobs in it, in place of those of the same ids; l
// stays as it is.
func (l *Line) With(jobs ...Job) (*Line, error) {
	with := *l
	with.jobs = slices.Clone(jobs)
	instead := map[int64]bool{}
	for _, j := range jobs {
		switch {
		case j.Left < 0:
			return nil, fmt.Errorf("job %d: %v of work left", j.ID, j.Left)
		case j.Rank < InLine || j.Rank > UnderWay:
			return nil, fmt.Errorf("job %d: rank %d", j.ID, j.Rank)
		case j.Mechanic != 0 && l.bench(j.Mechanic) == nil:
			return nil, fmt.Errorf("job %d: there is no mechanic %d", j.ID, j.Mechanic)
		case !j.waitsInOrder():
			return nil, fmt.Errorf("job %d: more work is left at a wait than before it", j.ID)
		}
		instead[j.ID] = true
	}
	for _, j := range l.jobs {
		if !instead[j.ID] {
			with.jobs = append(with.jobs, j)
		}
	}
	slices.SortFunc(with.jobs, order)
	return &with, nil
}

func order(a, b Job) int {
	return cmp.Or(
		cmp.Compare(b.Rank, a.Rank),
		compareBools(a.Due.IsZero(), b.Due.IsZero()), a.Due.Compare(b.Due),
		cmp.Compare(a.ID, b.ID))
}

func compareBools(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

func (l *Line) bench(id int64) *bench {
	for _, b := range l.benches {
		if b.ID == id {
			return b
		}
	}
	return nil
}

func (j Job) waitsInOrder() bool {
	left := j.Left
	for _, w := range j.Waits {
		if w.Left < 0 || w.Left > left {
			return false
		}
		left = w.Left
	}
	return true
}

// takes is how long so much work keeps its mechanic.
func (l *Line) takes(work time.Duration, rank Rank) time.Duration {
	if rank == SameDay {
		return work
	}
	return time.Duration(math.Ceil(float64(work) * l.stretch))
}

// soonest is when a job ends if it is the next to be taken up and nobody ever
// goes home.
func (l *Line) soonest(j Job) time.Time {
	at := l.at
	if j.From.After(at) {
		at = j.From
	}
	for n, w := range j.Waits {
		at = w.Until(at.Add(l.takes(j.stretch(n), j.Rank)))
	}
	return at.Add(l.takes(j.stretch(len(j.Waits)), j.Rank))
}

// Place is where a job stands in the line.
type Place struct {
	Job
	// By is who works on it; 0 where nobody ever can, and then it has no times.
	By            int64
	Start, Finish time.Time
	Ahead         int         // jobs that the same mechanic begins before it
	Back          []time.Time // when each of its waits is over
	// Held says that it would have begun sooner, had it not had to wait for From.
	Held bool
}

// Never is whether it does not come to an end in anybody's hours.
func (p Place) Never() bool { return p.By == 0 }

// Late is whether what was promised does not hold.
func (p Place) Late() bool {
	return !p.Due.IsZero() && (p.Never() || p.Finish.After(p.Due))
}

// Forward gives each job its place, in the order of the line. Whoever is free
// first takes the first job they can work on; nobody stands idle beside one, so
// a job that comes a little later and is due sooner waits. (Keeping a bench
// idle for it can win: one of a minute that comes after a minute and is due
// after two is 9 late behind one of ten, and on time before it.) What is begun
// is finished, over nights and closed days, but for its waits: when one of them
// is over its mechanic goes on with it, and with what they were at afterwards.
func (l *Line) Forward() []Place {
	r := run{Line: l, places: make([]Place, len(l.jobs))}
	for _, b := range l.benches {
		b.rewind()
	}
	for i, j := range l.jobs {
		r.places[i].Job = j
		if j.stands() {
			b := l.bench(j.Mechanic)
			r.stand(b, taken{Place: r.places[i], in: i}, l.at)
			continue
		}
		r.coming = append(r.coming, i)
	}
	slices.SortStableFunc(r.coming, func(a, b int) int { return l.jobs[a].From.Compare(l.jobs[b].From) })
	r.waiting = map[class]queue{}
	for b := r.next(); b != nil; b = r.next() {
		r.turn(b)
	}
	return r.places
}
