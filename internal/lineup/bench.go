package lineup

import "time"

// bench is a mechanic on the way through their hours.
type bench struct {
	Mechanic
	begin time.Time
	spans []span // as far as they have been asked for
	over  bool   // there are no more

	at       int       // the span of free
	free     time.Time // always within their hours, its end excluded
	done     bool
	idle     bool // nothing was there just before
	begun    int
	furthest int // the last job of the line they have begun
}

type span struct{ from, to time.Time }

// span is the nth one from the beginning.
func (b *bench) span(n int) (span, bool) {
	for !b.over && len(b.spans) <= n {
		at := b.begin
		if k := len(b.spans); k > 0 {
			at = b.spans[k-1].to
		}
		from, to, ok := b.Hours.Next(at)
		if from.Before(at) {
			from = at
		}
		if b.over = !ok; ok {
			b.spans = append(b.spans, span{from, to})
		}
	}
	if n < len(b.spans) {
		return b.spans[n], true
	}
	return span{}, false
}

func (b *bench) rewind() {
	b.at, b.idle, b.begun, b.furthest = 0, false, 0, -1
	b.free, b.done = b.begin, false
	b.goOn()
}

// goOn moves free into their hours.
func (b *bench) goOn() {
	for {
		s, ok := b.span(b.at)
		switch {
		case !ok:
			b.done = true
			return
		case b.free.Before(s.to):
			if b.free.Before(s.from) {
				b.free = s.from
			}
			return
		}
		b.at++
	}
}

// waitUntil leaves them idle to a time.
func (b *bench) waitUntil(at time.Time) {
	b.idle = true
	if b.free.Before(at) {
		b.free = at
	}
	b.goOn()
}

// work keeps them for so long and says when it is finished, or that their hours
// do not last.
func (b *bench) work(d time.Duration) (finish time.Time, ok bool) {
	for {
		s, ok := b.span(b.at)
		if !ok {
			b.done = true
			return time.Time{}, false
		}
		if b.free.Before(s.from) {
			b.free = s.from
		}
		if left := s.to.Sub(b.free); d > left {
			d -= left
			b.at++
			continue
		}
		finish = b.free.Add(d)
		b.free = finish
		b.goOn()
		return finish, true
	}
}
