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
	Mechanic int64  // 0: whoever is free first
	Skill    string // what a mechanic has to have; empty: nothing
	Rank     Rank
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

// takes is how long a job keeps its mechanic.
func (l *Line) takes(j Job) time.Duration {
	if j.Rank == SameDay {
		return j.Left
	}
	return time.Duration(math.Ceil(float64(j.Left) * l.stretch))
}

// Place is where a job stands in the line.
type Place struct {
	Job
	// By is who works on it; 0 where nobody ever can, and then it has no times.
	By            int64
	Start, Finish time.Time
	Ahead         int // jobs that the same mechanic begins before it
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
// is finished, over nights and closed days.
func (l *Line) Forward() []Place {
	r := run{Line: l, places: make([]Place, len(l.jobs))}
	for i, j := range l.jobs {
		r.places[i].Job = j
		r.coming = append(r.coming, i)
	}
	slices.SortStableFunc(r.coming, func(a, b int) int { return l.jobs[a].From.Compare(l.jobs[b].From) })
	r.waiting = map[class][]int{}
	for _, b := range l.benches {
		b.rewind()
	}
	for b := r.next(); b != nil; b = r.next() {
		r.turn(b)
	}
	return r.places
}
