package lineup

import (
	"container/heap"
	"slices"
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
	skill    string
}

func (c class) takenBy(b *bench) bool {
	return (c.mechanic == 0 || c.mechanic == b.ID) && (c.skill == "" || slices.Contains(b.Skills, c.skill))
}

// queue is a heap of jobs by their place in the line.
type queue = []int

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

// turn lets a mechanic take the first job that is there, or wait for the next
// one to come.
func (r *run) turn(b *bench) {
	r.release(b.free)
	i, ok := r.take(b)
	switch {
	case ok:
		r.work(b, i)
	case len(r.coming) == 0:
		b.done = true
	default:
		b.waitUntil(r.jobs[r.coming[0]].From)
	}
}

func (r *run) release(now time.Time) {
	for len(r.coming) > 0 && !r.jobs[r.coming[0]].From.After(now) {
		i := r.coming[0]
		r.coming = r.coming[1:]
		c := class{r.jobs[i].Mechanic, r.jobs[i].Skill}
		q := byLine(r.waiting[c])
		heap.Push(&q, i)
		r.waiting[c] = q
	}
}

func (r *run) take(b *bench) (i int, ok bool) {
	var from class
	for c, q := range r.waiting {
		if len(q) > 0 && c.takenBy(b) && (!ok || q[0] < i) {
			i, from, ok = q[0], c, true
		}
	}
	if ok {
		q := byLine(r.waiting[from])
		heap.Pop(&q)
		r.waiting[from] = q
	}
	return i, ok
}

func (r *run) work(b *bench, i int) {
	p := &r.places[i]
	start, idle := b.free, b.idle
	finish, ok := b.work(r.takes(p.Job))
	if !ok {
		return
	}
	p.By, p.Start, p.Finish, p.Ahead = b.ID, start, finish, b.begun
	p.Held = p.From.After(r.at) && (idle || b.furthest > i)
	b.begun++
	b.furthest = max(b.furthest, i)
	b.idle = false
}
