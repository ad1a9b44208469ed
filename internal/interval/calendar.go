package interval

import "time"

// Day is the calendar day of an instant in that zone.
func Day(t time.Time, zone *time.Location) time.Time {
	y, m, d := t.In(zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// days counts from one calendar day to another.
func days(from, to time.Time) int { return int(to.Sub(from) / (24 * time.Hour)) }

// AddMonths is the same day n months on, or the last day of that month where it
// has no such day: a month after 31 January is 28 or 29 February. The time of
// day and its zone stay.
func AddMonths(day time.Time, n int) time.Time {
	year, month, d := day.Date()
	last := time.Date(year, month+time.Month(n)+1, 0, 0, 0, 0, 0, time.UTC).Day()
	h, m, s := day.Clock()
	return time.Date(year, month+time.Month(n), min(d, last), h, m, s, day.Nanosecond(), day.Location())
}

// Season is when people ride where the shop is. Common practice (no source),
// and thin: it is ridden from 1 March to 31 October in the north, half a year
// later, from 1 September to 30 April, in the south.
type Season struct{ start, end monthDay }

type monthDay struct {
	month time.Month
	day   int
}

// SeasonOf is the season of a hemisphere, "north" or "south".
func SeasonOf(hemisphere string) Season {
	if hemisphere == "south" {
		return Season{monthDay{time.September, 1}, monthDay{time.April, 30}}
	}
	return Season{monthDay{time.March, 1}, monthDay{time.October, 31}}
}

// After is the first last day of a season after a day, and the first day of the
// season that follows it.
func (s Season) After(day time.Time) (end, start time.Time) {
	end = s.end.after(day)
	return end, s.start.after(end)
}

// Between is the season with dates of the shop's own, as shop.Settings has
// them; what is empty stays. A season may span the new year.
func (s Season) Between(from, to string) Season {
	if at, err := time.Parse("01-02", from); err == nil {
		s.start = monthDay{at.Month(), at.Day()}
	}
	if at, err := time.Parse("01-02", to); err == nil {
		s.end = monthDay{at.Month(), at.Day()}
	}
	return s
}

// First and Last are the days a season begins and ends on, in some year.
func (s Season) First() (time.Month, int) { return s.start.month, s.start.day }

// Last is the other end of First.
func (s Season) Last() (time.Month, int) { return s.end.month, s.end.day }

// Holds reports whether a day is in the season, its first and last day too.
func (s Season) Holds(day time.Time) bool {
	before := day.AddDate(0, 0, -1)
	end, start := s.end.after(before), s.start.after(before)
	return start.Equal(day) || end.Before(start)
}

// part is the days after from, up to to, all of them in the season or none.
type part struct {
	from, to time.Time
	in       bool
}

// parts divides the days after from, up to to, by the season. The zero Season
// has all days in it.
func (s Season) parts(from, to time.Time) []part {
	if s == (Season{}) {
		return []part{{from, to, true}}
	}
	var list []part
	for from.Before(to) {
		p := part{from: from, in: s.Holds(from.AddDate(0, 0, 1))}
		if p.in {
			p.to = s.end.after(from)
		} else {
			p.to = s.start.after(from).AddDate(0, 0, -1)
		}
		if p.to.After(to) {
			p.to = to
		}
		list = append(list, p)
		from = p.to
	}
	return list
}

func (m monthDay) after(day time.Time) time.Time {
	at := time.Date(day.Year(), m.month, m.day, 0, 0, 0, 0, time.UTC)
	if !at.After(day) {
		at = time.Date(day.Year()+1, m.month, m.day, 0, 0, 0, 0, time.UTC)
	}
	return at
}

func latest(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func earliest(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
