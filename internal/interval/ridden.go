package interval

import (
	"cmp"
	"slices"
	"time"
)

// Ridden is how long a unit was ridden between two days. Days nobody spoke of
// are a gap; with one the hours are what was ridden at least.
type Ridden struct {
	Hours float64 // used: as ridden, by what they count for
	Gap   int     // days
	Said  bool    // anything at all is known
	Plain float64 // as ridden outdoors
}

// add adds hours as ridden that count for a factor each.
func (r *Ridden) add(plain, factor float64) {
	r.Hours += plain * factor
	r.Plain += plain
	r.Said = true
}

// Riding is what hours are counted by, beside what was said of them.
type Riding struct {
	Season  Season
	Factors Factors
	// EBike and RiderKG are as the newest job of the unit has them; RiderKG is
	// nil where no job knows.
	EBike   bool
	RiderKG *float64
	// Sold is the day the unit came to its present rider, SoldAt the moment; zero
	// where it never went to another. What was said of a habit until that moment is
	// an earlier rider's, and ended on that day.
	Sold, SoldAt time.Time
}

// Log is what was said of the riding of one unit.
type Log struct {
	counted []counted // the better first
	habits  []said    // by the day they begin on
	riding  Riding
	used    []Used // of each reading, in the order they came
	zone    *time.Location
}

type said struct {
	on time.Time // the day it was said, or a meter was read
	Reading
	factor float64
}

// begin is when a habit begins: with the day that was said, else with the day
// it was said on.
func (s said) begin() time.Time {
	if s.Since != nil {
		return *s.Since
	}
	return s.on
}

// counted are hours that somebody counted, of the days after from up to to.
type counted struct {
	said
	from, to time.Time // from is zero where nobody knows since when
	plain    float64
}

// moment reports whether the hours were said of no time at all: they then stand
// for the day they were said on.
func (c counted) moment() bool { return c.Since != nil && !c.Since.Before(c.on) }

// NewLog orders readings by calendar days of a zone. Which of two that speak of
// the same days counts is the rule of better.
func NewLog(readings []Reading, zone *time.Location, riding Riding) Log {
	l := Log{riding: riding, zone: zone}
	var rest []said
	for _, r := range readings {
		s := said{on: Day(r.At, zone), Reading: r}
		if r.OnDay != nil {
			s.on = *r.OnDay
		}
		if r.Kind == Habit {
			l.habits = append(l.habits, s)
		} else {
			rest = append(rest, s)
		}
	}
	slices.SortStableFunc(l.habits, func(a, b said) int { return a.begin().Compare(b.begin()) })
	for i := range l.habits {
		l.weigh(&l.habits[i])
	}
	slices.SortStableFunc(rest, func(a, b said) int { return a.on.Compare(b.on) })
	l.count(rest)
	slices.Reverse(l.counted) // of equals the newer is better
	slices.SortStableFunc(l.counted, func(a, b counted) int { return better(a.Reading, b.Reading) })
	return l
}

// weigh sets what an hour of the reading counts for: in its own conditions,
// else in those of the newest habit before it that has any, else in none that
// are known. An e-bike and a heavy rider are known of the unit as well.
func (l *Log) weigh(s *said) {
	conditions := slices.Clone(s.Conditions)
	for _, h := range slices.Backward(l.habits) {
		if len(conditions) > 0 {
			break
		}
		if !h.begin().After(s.on) {
			conditions = slices.Clone(h.Conditions)
		}
	}
	if l.riding.EBike {
		conditions = append(conditions, EBike)
	}
	if kg := l.riding.RiderKG; kg != nil && *kg > heavyKG {
		conditions = append(conditions, HeavyRider)
	}
	u := Used{Reading: s.Reading, Conditions: conditions}
	u.Factor, u.Why = l.riding.Factors.Of(conditions)
	s.factor = u.Factor
	l.used = append(l.used, u)
}

// count makes of readings by day what was counted: hours that were stated, and
// the differences of each meter.
func (l *Log) count(list []said) {
	meters := map[string]meter{} // by source
	for _, s := range list {
		l.weigh(&s)
		u := &l.used[len(l.used)-1]
		c := counted{said: s, to: s.on}
		if s.Kind == Stated {
			c.plain = s.Hours - s.IndoorHours
			if s.Since != nil {
				c.from = *s.Since
			}
			if c.moment() {
				c.from = s.on.AddDate(0, 0, -1)
			}
		} else {
			m, known := meters[s.Source]
			u.FirstMeter, u.NewMeter = !known, known && s.Hours < m.last.Hours
			meters[s.Source] = l.run(u, c, m, known)
			continue
		}
		l.keep(u, c)
	}
}

// meter is one that was read, with where in counted its last difference stands;
// -1 for none.
type meter struct {
	last said
	at   int
}

// run counts one more reading of a meter. One that shows less than before is a
// new meter, from which counting starts anew. Of two readings on a day the later
// adds to what the earlier counted.
func (l *Log) run(u *Used, c counted, m meter, known bool) meter {
	if !known || u.NewMeter {
		return meter{c.said, -1}
	}
	c.from, c.plain = m.last.on, max(c.Hours-m.last.Hours-c.IndoorHours, 0)
	if c.from.Equal(c.to) && m.at >= 0 {
		u.Plain, u.From = c.plain, &c.from
		l.counted[m.at].plain += c.plain
		return meter{c.said, m.at}
	}
	if c.from.Equal(c.to) {
		c.from = c.from.AddDate(0, 0, -1)
	}
	l.keep(u, c)
	return meter{c.said, len(l.counted) - 1}
}

func (l *Log) keep(u *Used, c counted) {
	u.Plain = c.plain
	if !c.from.IsZero() {
		u.From = &c.from
	}
	l.counted = append(l.counted, c)
}

// Ridden counts from the end of one day to the end of another:
//
//  1. Days that hours were counted of go by those hours, each day by its share
//     of them; of two that speak of the same days by the better. Hours counted
//     since nobody knows when count in full.
//  2. All other days go by the habit.
//
// What was counted after the last day does not count. A habit holds until the
// next one of the same part of the year begins. The first one holds for the
// days before as well, if nobody said since when.
func (l Log) Ridden(from, to time.Time) Ridden {
	if !from.Before(to) {
		return Ridden{Said: len(l.used) > 0}
	}
	var total Ridden
	open := []part{{from: from, to: to}}
	for _, c := range l.counted {
		if !c.to.After(from) || c.to.After(to) {
			continue
		}
		begin := c.from
		if begin.IsZero() {
			begin = from
		}
		var taken int
		taken, open = take(open, begin, c.to)
		if taken > 0 {
			total.add(c.plain*float64(taken)/float64(days(begin, c.to)), c.factor)
		}
	}
	for _, p := range open {
		total.Gap += days(p.from, p.to)
		for _, h := range l.byHabit(p.from, p.to) {
			n := days(h.from, h.to)
			total.add(h.plain(), h.factor)
			total.Gap -= n
		}
	}
	return total
}

// take cuts the days after from, up to to, out of those that are open, and says
// how many of them it found.
func take(open []part, from, to time.Time) (taken int, rest []part) {
	for _, p := range open {
		begin, end := latest(p.from, from), earliest(p.to, to)
		if !begin.Before(end) {
			rest = append(rest, p)
			continue
		}
		taken += days(begin, end)
		if p.from.Before(begin) {
			rest = append(rest, part{from: p.from, to: begin})
		}
		if end.Before(p.to) {
			rest = append(rest, part{from: end, to: p.to})
		}
	}
	return taken, rest
}

// span is a stretch of days that a habit is of.
type span struct {
	said
	from, to time.Time
}

func (s span) plain() float64 {
	return float64(days(s.from, s.to)) / 7 * s.RidesAWeek * s.HoursARide
}

// byHabit divides the days after from, up to to, by the habit that holds; days
// that none holds for are left out.
func (l Log) byHabit(from, to time.Time) []span {
	parts := []part{{from, to, true}}
	if slices.ContainsFunc(l.habits, func(h said) bool { return h.seasonal() }) {
		parts = l.riding.Season.parts(from, to)
	}
	var list []span
	for _, p := range parts {
		habits := slices.DeleteFunc(slices.Clone(l.habits), func(h said) bool { return !h.of(p.in) })
		for i, h := range habits {
			begin, end := latest(p.from, h.begin()), p.to
			if h.Since == nil && (i == 0 || l.gone(habits[i-1]) && !l.gone(h)) {
				begin = p.from // the first of its rider
			}
			if l.gone(h) {
				end = earliest(end, l.riding.Sold)
			} else {
				begin = latest(begin, l.riding.Sold)
			}
			if i+1 < len(habits) && l.gone(h) == l.gone(habits[i+1]) {
				end = earliest(end, habits[i+1].begin())
			}
			if begin.Before(end) {
				list = append(list, span{h, begin, end})
			}
		}
	}
	return list
}

// gone reports whether a reading is of a rider who had the unit before.
func (l Log) gone(s said) bool { return !l.riding.SoldAt.IsZero() && !s.At.After(l.riding.SoldAt) }

func (r Reading) seasonal() bool { return r.Season == InSeason || r.Season == OffSeason }

// of reports whether a habit speaks of days in the season, or of those off it.
func (r Reading) of(in bool) bool {
	return !r.seasonal() || (r.Season == InSeason) == in
}

// Span is how long a unit was ridden between two days, the first of them not
// counted, as it was counted by somebody.
type Span struct {
	From, To time.Time
	Hours    float64 // used, as in Ridden
	Plain    float64
}

// Spans are the hours that were counted, by day, each for the days that no
// better ones speak of; where one is cut, its hours are by the share of its
// days. One that counts from a day nobody knows is none.
func (l Log) Spans() []Span {
	var list []Span
	open := []part{{from: time.Time{}, to: time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)}}
	for _, c := range l.counted {
		if c.from.IsZero() || c.moment() {
			continue
		}
		for _, p := range open {
			from, to := latest(p.from, c.from), earliest(p.to, c.to)
			if from.Before(to) {
				plain := c.share(from, to)
				list = append(list, Span{from, to, plain * c.factor, plain})
			}
		}
		_, open = take(open, c.from, c.to)
	}
	slices.SortFunc(list, func(a, b Span) int { return cmp.Or(a.From.Compare(b.From), a.To.Compare(b.To)) })
	return list
}
