// Package worktime counts the time a shop is open: weekly hours as the local
// clock shows them, less closures, across changes of the clocks.
package worktime

import (
	"cmp"
	"fmt"
	"slices"
	"time"
)

// DayEnd is the minute at which every day ends.
const DayEnd = 24 * 60

// Span is part of one day, in minutes as the local clock shows them: 540 is
// 09:00 on every day, 1440 is the end of the day.
type Span struct{ From, To int }

func (s Span) check() error {
	if !(0 <= s.From && s.From < s.To && s.To <= DayEnd) {
		return fmt.Errorf("span from minute %d to %d: it begins before it ends, both within the day", s.From, s.To)
	}
	return nil
}

// Closure takes a span from a day, which counts by its year, month and day
// alone.
type Closure struct {
	Day time.Time
	Span
}

// Calendar says when it is open. The zero Calendar never is.
type Calendar struct {
	zone *time.Location
	week [7][]Span // by time.Weekday
	then []change  // other weeks, by the day that each begins on
	shut map[date][]Span
}

// change is another week from a day on.
type change struct {
	from date
	week [7][]Span
}

type date struct {
	year  int
	month time.Month
	day   int
}

func dateOf(t time.Time) date {
	y, m, d := t.Date()
	return date{y, m, d}
}

// midnight of the date in UTC, which only stands for it.
func (d date) midnight() time.Time { return time.Date(d.year, d.month, d.day, 0, 0, 0, 0, time.UTC) }

func (d date) plus(days int) date { return dateOf(d.midnight().AddDate(0, 0, days)) }

// New makes the calendar of a zone. Spans of one weekday may touch but not
// overlap; closures may do both.
func New(zone *time.Location, week [7][]Span, closures []Closure) (Calendar, error) {
	c := Calendar{zone: zone, shut: map[date][]Span{}}
	if zone == nil {
		return c, fmt.Errorf("zone: there is none")
	}
	var err error
	if c.week, err = inOrder(week); err != nil {
		return c, err
	}
	for _, shut := range closures {
		if err := shut.check(); err != nil {
			return c, fmt.Errorf("closure on %s: %w", shut.Day.Format(time.DateOnly), err)
		}
		d := dateOf(shut.Day)
		c.shut[d] = append(c.shut[d], shut.Span)
	}
	return c, nil
}

// inOrder is a week with the spans of each day in order.
func inOrder(week [7][]Span) (sorted [7][]Span, err error) {
	for day, spans := range week {
		sorted[day] = slices.SortedFunc(slices.Values(spans), func(a, b Span) int { return cmp.Compare(a.From, b.From) })
		for i, s := range sorted[day] {
			if err := s.check(); err != nil {
				return sorted, fmt.Errorf("%s: %w", time.Weekday(day), err)
			}
			if i > 0 && sorted[day][i-1].To > s.From {
				return sorted, fmt.Errorf("%s: spans from minute %d and %d overlap", time.Weekday(day), sorted[day][i-1].From, s.From)
			}
		}
	}
	return sorted, nil
}

// From is the calendar with another week from a day on, which counts by its
// date alone; its closures stay.
func (c Calendar) From(day time.Time, week [7][]Span) (Calendar, error) {
	sorted, err := inOrder(week)
	if err != nil {
		return c, err
	}
	c.then = append(slices.Clone(c.then), change{dateOf(day), sorted})
	slices.SortStableFunc(c.then, func(a, b change) int { return a.from.midnight().Compare(b.from.midnight()) })
	return c, nil
}

// weekOn is the week that holds on a day.
func (c Calendar) weekOn(d date) [7][]Span {
	week := c.week
	for _, t := range c.then {
		if t.from.midnight().After(d.midnight()) {
			break
		}
		week = t.week
	}
	return week
}

// Day is what is open of a day, which counts by its date alone, in order.
func (c Calendar) Day(day time.Time) []Span {
	open := slices.Clone(c.weekOn(dateOf(day))[day.Weekday()])
	for _, shut := range c.shut[dateOf(day)] {
		open = without(open, shut)
	}
	return open
}

func without(open []Span, shut Span) []Span {
	var left []Span
	for _, s := range open {
		before := Span{s.From, min(s.To, shut.From)}
		after := Span{max(s.From, shut.To), s.To}
		for _, part := range []Span{before, after} {
			if part.From < part.To {
				left = append(left, part)
			}
		}
	}
	return left
}

// opening is a span of one day as instants.
type opening struct{ from, to time.Time }

// openings are those of a day. A clock time that a change of the clocks skips
// counts from before the change; one that comes twice is the first (RFC 5545,
// 3.3.5). A span that a change leaves empty is none.
func (c Calendar) openings(d date) []opening {
	var list []opening
	day := d.midnight()
	for _, s := range c.Day(day) {
		o := opening{onClock(day, s.From, c.zone), onClock(day, s.To, c.zone)}
		if o.from.Before(o.to) {
			list = append(list, o)
		}
	}
	return list
}

// onClock is the instant at which the clocks of loc show minute on day, which
// is a midnight in UTC.
func onClock(day time.Time, minute int, loc *time.Location) time.Time {
	shown := day.Add(time.Duration(minute) * time.Minute)
	less := func(offset int) time.Time { return shown.Add(-time.Duration(offset) * time.Second).In(loc) }
	// No offset exceeds 14 hours: a day to each side is clear of any change
	// that could concern this minute.
	before, after := offsetAt(shown.AddDate(0, 0, -1), loc), offsetAt(shown.AddDate(0, 0, 1), loc)
	if t := less(after); offsetAt(less(before), loc) != before && offsetAt(t, loc) == after {
		return t
	}
	return less(before)
}

func offsetAt(t time.Time, loc *time.Location) int {
	_, offset := t.In(loc).Zone()
	return offset
}

// horizon is how many days may pass without an opening: each closure can take
// away one week's only one, a change of the clocks another. A week that is never
// open lasts until another begins.
func (c Calendar) horizon(today date) int {
	days := 7 * (len(c.shut) + 3)
	if n := len(c.then); n > 0 {
		days += 21 * n
		for _, t := range []change{c.then[0], c.then[n-1]} {
			days += int(t.from.midnight().Sub(today.midnight()).Abs().Hours() / 24)
		}
	}
	return days
}

// Next is the span open at an instant, else the first one after it. It begins
// and ends within one local day. ok is false where it never opens again.
func (c Calendar) Next(at time.Time) (from, to time.Time, ok bool) {
	if c.zone == nil {
		return from, to, false
	}
	today := dateOf(at.In(c.zone))
	for n := range c.horizon(today) {
		for _, o := range c.openings(today.plus(n)) {
			if at.Before(o.to) {
				return o.from, o.to, true
			}
		}
	}
	return time.Time{}, time.Time{}, false
}

// last is the span open just before an instant, else the last one before it.
func (c Calendar) last(at time.Time) (o opening, ok bool) {
	if c.zone == nil {
		return o, false
	}
	today := dateOf(at.In(c.zone))
	for n := range c.horizon(today) {
		for _, o := range slices.Backward(c.openings(today.plus(-n))) {
			if o.from.Before(at) {
				return o, true
			}
		}
	}
	return opening{}, false
}

// Shut is when it closed last, at an instant or before it. ok is false where it has
// not been open yet.
func (c Calendar) Shut(at time.Time) (closed time.Time, ok bool) {
	o, ok := c.last(at)
	if ok && o.to.After(at) {
		o, ok = c.last(o.from)
	}
	return o.to, ok
}

// OpenUntil says whether it closes no sooner than at on that day, so that what
// is promised by then can be picked up the same day. The end of a day belongs to
// it.
func (c Calendar) OpenUntil(at time.Time) bool {
	if c.zone == nil {
		return false
	}
	spans := c.openings(dateOf(at.Add(-1).In(c.zone)))
	return len(spans) > 0 && !spans[len(spans)-1].to.Before(at)
}

// Between is how long it is open from one instant to another; below zero where
// the second comes first.
func (c Calendar) Between(from, to time.Time) time.Duration {
	if to.Before(from) {
		return -c.Between(to, from)
	}
	var sum time.Duration
	for at := from; ; {
		begin, end, ok := c.Next(at)
		if !ok || !begin.Before(to) {
			return sum
		}
		if begin.Before(at) {
			begin = at
		}
		if end.After(to) {
			end = to
		}
		sum += end.Sub(begin)
		at = end
		if !at.Before(to) {
			return sum
		}
	}
}

// Add is the instant at which it was open for d since at; a d below zero goes
// back, 0 stays. ok is false where it is never open for so long.
func (c Calendar) Add(at time.Time, d time.Duration) (then time.Time, ok bool) {
	if d < 0 {
		return c.back(at, -d)
	}
	for d > 0 {
		from, to, ok := c.Next(at)
		if !ok {
			return time.Time{}, false
		}
		if from.After(at) {
			at = from
		}
		if left := to.Sub(at); d <= left {
			return at.Add(d), true
		} else {
			d -= left
		}
		at = to
	}
	return at, true
}

func (c Calendar) back(at time.Time, d time.Duration) (time.Time, bool) {
	for d > 0 {
		o, ok := c.last(at)
		if !ok {
			return time.Time{}, false
		}
		if o.to.Before(at) {
			at = o.to
		}
		if left := at.Sub(o.from); d <= left {
			return at.Add(-d), true
		} else {
			d -= left
		}
		at = o.from
	}
	return at, true
}
