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
	furthest int     // the last job of the line they have begun
	stands   []taken // what they have begun and nobody is at, the next to go on with first
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
	b.free, b.done, b.stands = b.begin, false, nil
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

// work keeps them for so long, or until a time (the zero time is none) before
// that: at is when it stopped, and left what is still to do. ok is false where
// their hours do not last.
func (b *bench) work(d time.Duration, until time.Time) (at time.Time, left time.Duration, ok bool) {
	for {
		s, ok := b.span(b.at)
		if !ok {
			b.done = true
			return time.Time{}, d, false
		}
		if b.free.Before(s.from) {
			b.free = s.from
		}
		end := b.free.Add(min(d, s.to.Sub(b.free)))
		broken := d > 0 && !until.IsZero() && until.Before(end)
		if broken && until.After(b.free) {
			end = until
		} else if broken {
			end = b.free
		}
		d -= end.Sub(b.free)
		b.free = end
		if broken || d == 0 {
			b.goOn()
			return end, d, true
		}
		b.at++
	}
}
