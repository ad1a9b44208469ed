package lineup

import (
	"slices"
	"time"
)

// taken is a job that somebody has begun. Its place is kept when it is finished.
type taken struct {
	Place
	in    int // its number in the line
	waits int // of them are over, or begun
	back  time.Time
}

// stand begins the next wait of a job.
func (r *run) stand(b *bench, t taken, at time.Time) {
	t.back = t.Waits[t.waits].Until(at)
	t.Back = append(t.Back, t.back)
	t.waits++
	i := 0
	for i < len(b.stands) && !b.stands[i].back.After(t.back) {
		i++
	}
	b.stands = slices.Insert(b.stands, i, t)
}

// goOn takes up the nth of what stood.
func (r *run) goOn(b *bench, n int) {
	t := b.stands[n]
	b.stands, b.idle = slices.Delete(b.stands, n, n+1), false
	r.work(b, t)
}

// work is a stretch of a job, to its next wait or its end. What comes back after
// it was begun goes between. Hours that do not last leave the job without a
// place.
func (r *run) work(b *bench, t taken) {
	began := b.free
	left := r.takes(t.stretch(t.waits), t.Rank)
	if t.Start.IsZero() && (left > 0 || t.waits == len(t.Waits)) {
		t.Start, t.Ahead = b.free, b.begun
		b.begun++
	}
	for {
		var until time.Time
		next := slices.IndexFunc(b.stands, func(s taken) bool { return s.back.After(began) })
		if next >= 0 {
			until = b.stands[next].back
		}
		at, rest, ok := b.work(left, until)
		switch {
		case !ok:
			return
		case rest > 0:
			left = rest
			r.goOn(b, next)
			continue
		case t.waits < len(t.Waits):
			r.stand(b, t, at)
			return
		}
		t.By, t.Finish = b.ID, at
		r.places[t.in] = t.Place
		return
	}
}
