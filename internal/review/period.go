package review

import (
	"time"

	"damperdesk/internal/fault"
)

// Period is whole days of the shop's calendar: from the first moment of one to
// the first moment after another.
type Period struct{ From, To time.Time }

// Choice is a period that is chosen by a link.
type Choice struct {
	Code, Words string
	Weeks       int
}

// Choices in their order.
var Choices = []Choice{{"4w", "4 weeks", 4}, {"12w", "12 weeks", 12}, {"year", "a year", 52}}

// Usual is the one that nobody has to choose.
var Usual = Choices[1]

// longest is how many days a period has at most: two years with their leap day.
const longest = 731

// FullWeeks is the n ISO weeks that have ended last, so that a week that has
// only begun does not look like a bad one.
func FullWeeks(n int, now time.Time, zone *time.Location) Period {
	to := monday(now.In(zone))
	y, m, d := to.Date()
	return Period{From: startOf(y, m, d-7*n, zone), To: to}
}

// Between is from one day to another, both included; they count by their year,
// month and day. A day that cannot stand is named as "from" or "to".
func Between(from, to, now time.Time, zone *time.Location) (Period, error) {
	p := Period{From: startOf(from.Year(), from.Month(), from.Day(), zone), To: startOf(to.Year(), to.Month(), to.Day()+1, zone)}
	fields := map[string]string{}
	if p.From.After(now) {
		fields["from"] = "That day is still to come."
	}
	switch {
	case startOf(to.Year(), to.Month(), to.Day(), zone).After(now):
		fields["to"] = "That day is still to come."
	case !p.From.Before(p.To):
		fields["to"] = "The last day is before the first one."
	case p.Days() > longest:
		fields["from"] = "That is more than two years: choose a later first day."
	}
	if len(fields) > 0 {
		return Period{}, &fault.Invalid{Fields: fields}
	}
	return p, nil
}

// Days counts days of the calendar; one of 23 or 25 hours is a day.
func (p Period) Days() int { return dayNumber(p.To) - dayNumber(p.From) }

// LastDay is the first moment of the last day.
func (p Period) LastDay() time.Time {
	y, m, d := p.To.Date()
	return startOf(y, m, d-1, p.To.Location())
}

// Before is as many days just before the period.
func (p Period) Before() Period {
	y, m, d := p.From.Date()
	return Period{From: startOf(y, m, d-p.Days(), p.From.Location()), To: p.From}
}

func (p Period) has(t time.Time) bool { return !t.Before(p.From) && t.Before(p.To) }

// Week is one week of ISO 8601: from Monday to Sunday, with the year that has
// its Thursday.
type Week struct {
	Period
	Year, Number int
}

// Weeks are those the period touches, whole, and as many before them as make
// up at least that many.
func (p Period) Weeks(least int) []Week {
	zone := p.From.Location()
	from := monday(p.From)
	y, m, d := monday(p.LastDay()).Date()
	end := startOf(y, m, d+7, zone)
	if y, m, d := end.Date(); (Period{from, end}).Days() < 7*least {
		from = startOf(y, m, d-7*least, zone)
	}
	var list []Week
	for from.Before(end) {
		y, m, d := from.Date()
		w := Week{Period: Period{From: from, To: startOf(y, m, d+7, zone)}}
		w.Year, w.Number = from.ISOWeek()
		list = append(list, w)
		from = w.To
	}
	return list
}

// monday is the first moment of the ISO week of t.
func monday(t time.Time) time.Time {
	y, m, d := t.Date()
	return startOf(y, m, d-(int(t.Weekday())+6)%7, t.Location())
}

// startOf is the first moment of a day, which is midnight but where the clocks
// change there: a midnight that is skipped gives way to the moment of the
// change, and of one that comes twice it is the first.
func startOf(year int, month time.Month, day int, zone *time.Location) time.Time {
	const step = 15 * time.Minute // all offsets since 1972 are multiples of it
	noon := time.Date(year, month, day, 12, 0, 0, 0, zone)
	t := time.Date(year, month, day, 0, 0, 0, 0, zone)
	for t.Day() != noon.Day() {
		t = t.Add(step)
	}
	for t.Add(-step).Day() == noon.Day() {
		t = t.Add(-step)
	}
	return t
}

func dayNumber(t time.Time) int {
	y, m, d := t.Date()
	return int(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}
