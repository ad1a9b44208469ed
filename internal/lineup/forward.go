package lineup

import (
	"container/heap"
	"slices"
	"strings"
	"time"
)

// run is one pass of Forward.
type run struct {
	*Line
	places  []Place
	coming  []int // jobs that cannot be worked on yet, as they come
	waiting map[class]queue
}

// class is what has to hold of a mechanic who takes a job.
type class struct {
	mechanic int64
	skills   string // one after the other
}

// queue is the jobs of a class that are there: a heap by their place in the line.
type queue struct {
	skills []string
	jobs   byLine
}

func (q queue) takenBy(b *bench, mechanic int64) bool {
	if len(q.jobs) == 0 || mechanic != 0 && mechanic != b.ID {
		return false
	}
	return !slices.ContainsFunc(q.skills, func(s string) bool { return !slices.Contains(b.Skills, s) })
}

type byLine []int

func (q byLine) Len() int           { return len(q) }
func (q byLine) Less(i, j int) bool { return q[i] < q[j] }
func (q byLine) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *byLine) Push(x any)        { *q = append(*q, x.(int)) }
func (q *byLine) Pop() any {
	old := *q
	last := old[len(old)-1]
	*q = old[:len(old)-1]
	return last
}

// next is the mechanic who is free first; nil when all have done what they can.
func (r *run) next() *bench {
	var first *bench
	for _, b := range r.benches {
		if !b.done && (first == nil || b.free.Before(first.free)) {
			first = b
		}
	}
	return first
}

// turn lets a mechanic go on with what has stood, take the first job that is
// there, or wait for the next one to come.
func (r *run) turn(b *bench) {
	r.release(b.free)
	if len(b.stands) > 0 && !b.stands[0].back.After(b.free) {
		r.goOn(b, 0)
		return
	}
	i, ok := r.take(b)
	switch {
	case ok:
		r.begin(b, i)
	case len(r.coming) == 0 && len(b.stands) == 0:
		b.done = true
	default:
		b.waitUntil(r.comes(b))
	}
}

// comes is when there is something to do again for a mechanic who has nothing.
func (r *run) comes(b *bench) (at time.Time) {
	if len(r.coming) > 0 {
		at = r.jobs[r.coming[0]].From
	}
	if len(b.stands) > 0 && (at.IsZero() || b.stands[0].back.Before(at)) {
		at = b.stands[0].back
	}
	return at
}

func (r *run) release(now time.Time) {
	for len(r.coming) > 0 && !r.jobs[r.coming[0]].From.After(now) {
		i := r.coming[0]
		r.coming = r.coming[1:]
		c := class{r.jobs[i].Mechanic, strings.Join(r.jobs[i].Skills, "\n")}
		q := r.waiting[c]
		q.skills = r.jobs[i].Skills
		heap.Push(&q.jobs, i)
		r.waiting[c] = q
	}
}

func (r *run) take(b *bench) (i int, ok bool) {
	var from class
	for c, q := range r.waiting {
		if q.takenBy(b, c.mechanic) && (!ok || q.jobs[0] < i) {
			i, from, ok = q.jobs[0], c, true
		}
	}
	if ok {
		q := r.waiting[from]
		heap.Pop(&q.jobs)
		r.waiting[from] = q
	}
	return i, ok
}

// begin takes a job to the bench.
func (r *run) begin(b *bench, i int) {
	t := taken{Place: r.places[i], in: i}
	t.Held = t.From.After(r.at) && (b.idle || b.furthest > i)
	b.furthest = max(b.furthest, i)
	b.idle = false
	r.work(b, t)
}
