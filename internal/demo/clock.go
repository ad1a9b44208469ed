package demo

import (
	"time"

	"damperdesk/internal/shop"
)

// clock counts in time the shop is open, from two years before the demo's
// moment to some weeks after it.
type clock struct {
	now   time.Time
	spans []span // in order
	today int    // the span that is open at now, else the next one
}

type span struct{ from, to time.Time }

const (
	daysBack  = 740
	daysAhead = 60
)

func newClock(week []shop.Opening, now time.Time, zone *time.Location) clock {
	c := clock{now: now}
	y, m, d := now.In(zone).Date()
	for n := -daysBack; n <= daysAhead; n++ {
		day := time.Date(y, m, d+n, 0, 0, 0, 0, zone)
		for _, o := range week {
			if o.Weekday == day.Weekday() {
				c.spans = append(c.spans, span{
					time.Date(y, m, d+n, 0, o.OpenMin, 0, 0, zone), time.Date(y, m, d+n, 0, o.CloseMin, 0, 0, zone)})
			}
		}
	}
	c.today = c.at(now)
	return c
}

// at is the span that is open at t, else the next one.
func (c clock) at(t time.Time) int {
	for i, s := range c.spans {
		if t.Before(s.to) {
			return i
		}
	}
	return len(c.spans) - 1
}

// before is the moment from which the shop has been open for d until now.
func (c clock) before(d time.Duration) time.Time {
	for i := c.today; i >= 0; i-- {
		s := c.spans[i]
		if s.from.After(c.now) {
			continue
		}
		end := s.to
		if end.After(c.now) {
			end = c.now
		}
		if had := end.Sub(s.from); had < d {
			d -= had
			continue
		}
		return end.Add(-d)
	}
	return c.spans[0].from
}

// after is the moment until which the shop is open for d from now.
func (c clock) after(d time.Duration) time.Time {
	for _, s := range c.spans[c.today:] {
		from := s.from
		if from.Before(c.now) {
			from = c.now
		}
		if has := s.to.Sub(from); has < d {
			d -= has
			continue
		}
		return from.Add(d)
	}
	return c.spans[len(c.spans)-1].to
}

// day is an hour on the nth opening day after today, at closing time at the
// latest; today is the next opening day where the shop is closed now.
func (c clock) day(n, hour int) time.Time {
	return c.hour(c.today+n, hour)
}

func (c clock) hour(i, hour int) time.Time {
	s := c.spans[i]
	y, m, d := s.from.Date()
	t := time.Date(y, m, d, hour, 0, 0, 0, s.from.Location())
	if t.After(s.to) {
		return s.to
	}
	return t
}
