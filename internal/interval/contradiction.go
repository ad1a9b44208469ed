package interval

import (
	"cmp"
	"math"
	"slices"
	"time"
)

// byKind are the kinds of reading, the better first: what was measured, what was counted, what
// is usual.
var byKind = []string{Meter, Stated, Habit}

// bySource are the sources, the better first.
var bySource = []string{"bike computer", "rider", "our estimate"}

// better orders two readings that speak of the same days, that which counts
// first: a meter before hours that were stated and those before a habit; of one
// kind a bike computer before the rider and the rider before our estimate. It
// is 0 where the newer one counts.
func better(a, b Reading) int {
	source := func(r Reading) int { return slices.Index(bySource, cmp.Or(r.Source, Sources[0])) }
	return cmp.Or(cmp.Compare(slices.Index(byKind, a.Kind), slices.Index(byKind, b.Kind)), cmp.Compare(source(a), source(b)))
}

// Used is how one reading counts.
type Used struct {
	Reading
	Plain      float64    // hours outdoors, of a meter since it was read before; 0 for a habit
	From       *time.Time // the day Plain counts from; nil: nobody knows, or a habit
	Conditions []string   // its own, or those that go on from before
	Factor     float64    // hours used for an hour ridden
	Why        []Factor   // what makes Factor so
	Shared     bool       // several owners rode these days: Factor is by the days of each
	Trainer    float64    // hours that came off a meter, said on a trainer of other hours
	FirstMeter bool       // a meter that was not read before
	NewMeter   bool       // a meter that shows less than before: a new one
}

// Hours are those used.
func (u Used) Hours() float64 { return u.Plain * u.Factor }

// Used is how every reading counts, the newest first, with those that were taken
// back, which do not.
func (l Log) Used() []Used {
	list := slices.Concat(l.used, l.back)
	slices.SortStableFunc(list, func(a, b Used) int { return cmp.Or(b.At.Compare(a.At), cmp.Compare(b.ID, a.ID)) })
	return list
}

// Why says which rule makes a reading count before another.
type Why string

// The rules of better.
const (
	WhyKind   Why = "kind"
	WhySource Why = "source"
	WhyNewer  Why = "newer"
)

// Contradiction is two readings that do not agree on the days after From, up to
// To. Nothing is thrown away: Counts is the one that counts there.
type Contradiction struct {
	From, To                time.Time
	Counts, Other           Reading
	CountsHours, OtherHours float64 // as ridden, of those days
	Why                     Why
}

// What readers of one riding may be apart: common practice (no source), people
// round to the nearest five hours and remember a ride more or less a week.
const (
	apartPart  = 4 // one part of so many of the greater
	apartHours = 5
)

func disagree(a, b float64) bool {
	apart := math.Abs(a - b)
	return apart > apartHours && apart > max(a, b)/apartPart
}

// Contradictions are the pairs of readings that speak of the same days and are
// apart by more than a quarter of the greater and by more than five hours, the
// newest days first. Hours of part of a reading are by the share of its days.
// Hours counted since a day nobody knows contradict nothing, and one habit
// follows another.
func (l Log) Contradictions() []Contradiction {
	var list []Contradiction
	for i, c := range l.counted {
		if c.from.IsZero() || c.moment() {
			continue
		}
		for _, other := range l.counted[i+1:] {
			from, to := latest(c.from, other.from), earliest(c.to, other.to)
			if other.from.IsZero() || other.moment() || !from.Before(to) {
				continue
			}
			if x, y := c.share(from, to), other.share(from, to); disagree(x, y) {
				list = append(list, Contradiction{from, to, c.Reading, other.Reading, x, y, why(c.Reading, other.Reading)})
			}
		}
		list = append(list, l.againstHabits(c)...)
	}
	slices.SortStableFunc(list, func(a, b Contradiction) int { return b.To.Compare(a.To) })
	return list
}

// againstHabits compares counted hours with each habit that holds for some of
// their days.
func (l Log) againstHabits(c counted) []Contradiction {
	var list []Contradiction
	spans := l.byHabit(c.from, c.to)
	for _, h := range l.habits {
		var usual, hours float64
		var from, to time.Time
		for _, s := range spans {
			if s.Reading.ID != h.ID || !s.begin().Equal(h.begin()) {
				continue
			}
			if from.IsZero() {
				from = s.from
			}
			to = s.to
			usual += s.plain()
			hours += c.share(s.from, s.to)
		}
		if disagree(hours, usual) {
			list = append(list, Contradiction{from, to, c.Reading, h.Reading, hours, usual, WhyKind})
		}
	}
	return list
}

// share is the hours of part of the days.
func (c counted) share(from, to time.Time) float64 {
	return c.plain * float64(days(from, to)) / float64(days(c.from, c.to))
}

func why(a, b Reading) Why {
	switch {
	case a.Kind != b.Kind:
		return WhyKind
	case better(a, b) != 0:
		return WhySource
	}
	return WhyNewer
}
