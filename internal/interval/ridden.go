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
	Now     Owner
	// Before are the owners it had before, the first one first. What was said of a
	// habit is its owner's, and ended on the day they sold.
	Before []Owner
}

// Log is what was said of the riding of one unit.
type Log struct {
	counted []counted // the better first
	habits  []said    // by the day they begin on
	riding  Riding
	used    []Used // of each reading that stands, in the order they came
	back    []Used // of those that were taken back
	zone    *time.Location
}

type said struct {
	on time.Time // the day it was said, or a meter was read
	Reading
	owner int     // whose word it is, as Riding.owner counts
	worth []worth // by owner
}

// worth is what an hour counts for that one of the owners rode.
type worth struct {
	conditions []string
	factor     float64
	why        []Factor
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
	uses     []int // where it stands in Log.used: readings of one day are one
}

// moment reports whether the hours were said of no time at all: they then stand
// for the day they were said on.
func (c counted) moment() bool { return c.Since != nil && !c.Since.Before(c.on) }

// NewLog orders readings by calendar days of a zone. Which of two that speak of
// the same days counts is the rule of better; one that was taken back counts for
// nothing.
func NewLog(readings []Reading, zone *time.Location, riding Riding) Log {
	l := Log{riding: riding, zone: zone}
	var rest []said
	for _, r := range readings {
		if !r.Standing() {
			l.back = append(l.back, Used{Reading: r})
			continue
		}
		s := said{on: Day(r.At, zone), Reading: r, owner: riding.owner(r.At)}
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
		l.use(l.habits[i], l.habits[i].owner)
	}
	slices.SortStableFunc(rest, func(a, b said) int { return a.on.Compare(b.on) })
	l.count(rest)
	slices.Reverse(l.counted) // of equals the newer is better
	slices.SortStableFunc(l.counted, func(a, b counted) int { return better(a.Reading, b.Reading) })
	l.indoors()
	return l
}

// weigh sets what an hour of the reading counts for, ridden by each of the
// owners: in its own conditions, else in those of the owner's newest habit before
// it that has any, else in none that are known. An e-bike and a heavy rider are
// known of the owner as well.
func (l *Log) weigh(s *said) {
	s.worth = make([]worth, len(l.riding.Before)+1)
	for i := range s.worth {
		w, o := &s.worth[i], l.riding.Now
		if i < len(l.riding.Before) {
			o = l.riding.Before[i]
		}
		w.conditions = slices.Clone(s.Conditions)
		for k := len(l.habits) - 1; k >= 0 && len(w.conditions) == 0; k-- {
			if h := &l.habits[k]; h.owner == i && !h.begin().After(s.on) {
				w.conditions = slices.Clone(h.Conditions)
			}
		}
		w.conditions = append(w.conditions, o.conditions()...)
		w.factor, w.why = l.riding.Factors.Of(w.conditions)
	}
}

// use notes how a reading counts, ridden by an owner.
func (l *Log) use(s said, owner int) *Used {
	w := s.worth[owner]
	l.used = append(l.used, Used{Reading: s.Reading, Conditions: w.conditions, Factor: w.factor, Why: w.why})
	return &l.used[len(l.used)-1]
}

// factor is what an hour counts for on the days after from, up to to, by who had
// the unit on how many of them.
func (l *Log) factor(s *said, from, to time.Time) float64 {
	if len(s.worth) == 1 {
		return s.worth[0].factor
	}
	sum := 0.0
	for t := range l.riding.tenures(from, to) {
		sum += s.worth[t.owner].factor * float64(days(t.from, t.to))
	}
	return sum / float64(max(days(from, to), 1))
}

// count makes of readings by day what was counted: hours that were stated, and
// the differences of each meter.
func (l *Log) count(list []said) {
	meters := map[string]meter{} // by source
	for _, s := range list {
		l.weigh(&s)
		u := l.use(s, l.riding.rode(s.on))
		c := counted{said: s, to: s.on, uses: []int{len(l.used) - 1}}
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
		l.counted[m.at].uses = append(l.counted[m.at].uses, c.uses...)
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
		if l.riding.rode(c.from.AddDate(0, 0, 1)) != l.riding.rode(c.to) {
			u.Factor, u.Why, u.Shared = l.factor(&c.said, c.from, c.to), nil, true
			for t := range l.riding.tenures(c.from, c.to) {
				for _, w := range c.worth[t.owner].why {
					if !slices.Contains(u.Why, w) {
						u.Why = append(u.Why, w)
					}
				}
			}
		}
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
		var held []part
		held, open = take(open, begin, c.to)
		for _, p := range held {
			total.add(c.plain*float64(days(p.from, p.to))/float64(days(begin, c.to)), l.factor(&c.said, p.from, p.to))
		}
	}
	for _, p := range open {
		total.Gap += days(p.from, p.to)
		for _, h := range l.byHabit(p.from, p.to) {
			n := days(h.from, h.to)
			total.add(h.plain(), h.worth[h.owner].factor)
			total.Gap -= n
		}
	}
	return total
}

// always is every day there is.
var always = []part{{to: time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)}}

// take cuts the days after from, up to to, out of those that are open, and gives
// those it found.
func take(open []part, from, to time.Time) (taken, rest []part) {
	for _, p := range open {
		begin, end := latest(p.from, from), earliest(p.to, to)
		if !begin.Before(end) {
			rest = append(rest, p)
			continue
		}
		taken = append(taken, part{from: begin, to: end})
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
		for t := range l.riding.tenures(p.from, p.to) {
			list = l.habitsOf(list, t, p.in)
		}
	}
	return list
}

// habitsOf adds to a list the days of one owner by their habits, of days in the
// season or off it.
func (l *Log) habitsOf(list []span, t tenure, in bool) []span {
	habits := slices.DeleteFunc(slices.Clone(l.habits), func(h said) bool { return h.owner != t.owner || !h.of(in) })
	for i, h := range habits {
		begin, end := latest(t.from, h.begin()), t.to
		if h.Since == nil && i == 0 {
			begin = t.from
		}
		if i+1 < len(habits) {
			end = earliest(end, habits[i+1].begin())
		}
		if begin.Before(end) {
			list = append(list, span{h, begin, end})
		}
	}
	return list
}

// gone reports whether a reading is of a rider who had the unit before.
func (l Log) gone(s said) bool { return s.owner < len(l.riding.Before) }

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
// better ones speak of and of one owner; where one is cut, its hours are by the
// share of its days. One that counts from a day nobody knows is none.
func (l Log) Spans() []Span {
	var list []Span
	open := always
	for _, c := range l.counted {
		if c.from.IsZero() || c.moment() {
			continue
		}
		var held []part
		held, open = take(open, c.from, c.to)
		for _, p := range held {
			for t := range l.riding.tenures(p.from, p.to) {
				plain := c.share(t.from, t.to)
				list = append(list, Span{t.from, t.to, plain * c.worth[t.owner].factor, plain})
			}
		}
	}
	slices.SortFunc(list, func(a, b Span) int { return cmp.Or(a.From.Compare(b.From), a.To.Compare(b.To)) })
	return list
}
