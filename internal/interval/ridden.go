package interval

import (
	"slices"
	"time"
)

// Ridden is how long a unit was ridden between two days. Days nobody spoke of
// are a gap; with one the hours are what was ridden at least.
type Ridden struct {
	Hours float64
	Gap   int  // days
	Said  bool // anything at all is known
}

// Known reports whether the hours can be counted with. A gap of at most four
// weeks, the time between soon and due, is taken for not ridden: a rider who
// said how many hours it was need not be asked again the day after.
func (r Ridden) Known() bool { return r.Said && r.Gap <= nearDays }

// state is that of hours against a limit. Hours that are known in part can
// still be enough.
func (r Ridden) state(limit int) State {
	near := float64(limit) / nearPart
	switch {
	case r.Hours >= float64(limit)+near:
		return Overdue
	case r.Hours >= float64(limit):
		return Due
	case r.Hours >= float64(limit)-near:
		return Soon
	case !r.Known():
		return Unknown
	}
	return Fine
}

func (r Ridden) plus(more Ridden) Ridden {
	return Ridden{r.Hours + more.Hours, r.Gap + more.Gap, r.Said || more.Said}
}

// Log is what was said of the riding of one unit.
type Log struct {
	stated []said // by day
	habits []said // by the day they begin on
}

type said struct {
	on time.Time // the day it was said
	Reading
}

// NewLog orders readings by calendar days of a zone.
func NewLog(readings []Reading, zone *time.Location) Log {
	var l Log
	for _, r := range readings {
		s := said{Day(r.At, zone), r}
		if r.Kind == Stated {
			l.stated = append(l.stated, s)
		} else {
			l.habits = append(l.habits, s)
		}
	}
	slices.SortStableFunc(l.stated, func(a, b said) int { return a.on.Compare(b.on) })
	slices.SortStableFunc(l.habits, func(a, b said) int { return a.begin().Compare(b.begin()) })
	return l
}

// begin is when a habit begins: with the day that was said, else with the day
// it was said on.
func (s said) begin() time.Time {
	if s.Since != nil {
		return *s.Since
	}
	return s.on
}

// Ridden counts from the end of one day to the end of another:
//
//  1. The newest reading stated in that time counts in full; where its own
//     count began earlier, by the share of its days.
//  2. The days after it go by the habit.
//  3. The days before its count began go by these same rules.
//  4. Where nothing was stated, all days go by the habit.
//
// A habit holds until the next one begins. The first one holds for the days
// before as well, if nobody said since when.
func (l Log) Ridden(from, to time.Time) Ridden {
	if !from.Before(to) {
		return Ridden{Said: len(l.stated)+len(l.habits) > 0}
	}
	for _, s := range slices.Backward(l.stated) {
		if !s.on.After(from) || s.on.After(to) {
			continue
		}
		after := l.byHabit(s.on, to)
		if s.Since == nil || !s.Since.After(from) {
			return after.plus(Ridden{Hours: s.Hours * s.share(from), Said: true})
		}
		if !s.Since.Before(s.on) { // said of no time at all
			return after.plus(l.Ridden(from, s.on.AddDate(0, 0, -1))).plus(Ridden{Hours: s.Hours, Said: true})
		}
		return l.Ridden(from, *s.Since).plus(Ridden{Hours: s.Hours, Said: true}).plus(after)
	}
	return l.byHabit(from, to)
}

// share is the part of the days of a stated reading that lie after a day.
func (s said) share(from time.Time) float64 {
	if s.Since == nil || !s.Since.Before(s.on) {
		return 1
	}
	return float64(days(from, s.on)) / float64(days(*s.Since, s.on))
}

// byHabit counts the days after from, up to to.
func (l Log) byHabit(from, to time.Time) Ridden {
	total := Ridden{Gap: days(from, to)}
	for i, h := range l.habits {
		begin, end := h.begin(), to
		if i == 0 && h.Since == nil {
			begin = from
		}
		if i+1 < len(l.habits) && l.habits[i+1].begin().Before(to) {
			end = l.habits[i+1].begin()
		}
		if begin.Before(from) {
			begin = from
		}
		if n := days(begin, end); n > 0 {
			total.Hours += float64(n) / 7 * h.RidesAWeek * h.HoursARide
			total.Gap -= n
			total.Said = true
		}
	}
	return total
}

// Span is how long a unit was ridden between two days, the first of them not
// counted, as it was counted by somebody.
type Span struct {
	From, To time.Time
	Hours    float64
}

// Spans are the readings that were stated, by day, each for the days that no
// newer one speaks of; where one is cut, its hours are by the share of its
// days. One that counts from a day nobody knows is none.
func (l Log) Spans() []Span {
	var list []Span
	var before time.Time // what is newer begins
	for _, s := range slices.Backward(l.stated) {
		if s.Since == nil || !s.Since.Before(s.on) {
			continue
		}
		span := Span{*s.Since, s.on, s.Hours}
		if !before.IsZero() && before.Before(span.To) {
			if !span.From.Before(before) {
				continue
			}
			span.Hours *= float64(days(span.From, before)) / float64(days(span.From, span.To))
			span.To = before
		}
		before = span.From
		list = append(list, span)
	}
	slices.Reverse(list)
	return list
}
