package interval

import (
	"slices"
	"time"
)

// State is how near a service is to being due.
type State string

// The states. A service is due from the moment a limit of its rule is reached:
// the hours are ridden, or it is the day that the months end on or the last day
// of the season.
//
// It is soon as much before, overdue as much after: a fifth of the hours or
// four weeks. Common practice (no source): four weeks are what it takes to
// agree on a day with a rider and have a bench free; a fifth of 50 h is 10 h,
// about four weeks of two rides a week, and within what rules for the same
// work differ by. Of a season limit the off-season is the time to do it, so
// that it is overdue from the first day of the next season.
//
// Hours that nobody has counted yet are ridden by the median of their forecast.
//
// It is unknown where the rule counts hours and nothing at all was said of the
// riding, unless a date says soon or more: hours could only make it sooner.
// Where nothing is known of the last time, all is unknown. Else it is fine.
const (
	Fine    State = "fine"
	Unknown State = "unknown"
	Soon    State = "soon"
	Due     State = "due"
	Overdue State = "overdue"
)

// States from the one that cannot wait to the one that can.
var States = []State{Overdue, Due, Soon, Unknown, Fine}

// Urgency compares two states, the one that can wait less first.
func Urgency(a, b State) int { return slices.Index(States, a) - slices.Index(States, b) }

const (
	nearDays = 28 // soon before a date and overdue after it
	nearPart = 5  // the same for hours: one part of so many
)

// By is which limit of a rule is meant.
type By string

// The limits a rule may have; an Ask is a limit by its Event.Kind.
const (
	ByHours  By = "hours"
	ByMonths By = "months"
	BySeason By = "season"
)

// Date is a limit that comes whatever is ridden: a service is due from On and
// overdue from Late.
type Date struct {
	By       By // ByMonths, BySeason, the kind of an event
	On, Late time.Time
}

// Dates are the limits of the rule for a service that was done on a day, the
// earliest first. Months end on the same day of the month, clamped as AddMonths
// says. Of a service done in the last four weeks of a season, when its limit
// says soon already, the end of the next season is the limit.
func (r Rule) Dates(done time.Time, s Season) []Date {
	var list []Date
	if r.Months > 0 {
		on := AddMonths(done, r.Months)
		list = append(list, Date{ByMonths, on, on.AddDate(0, 0, nearDays)})
	}
	if r.Season {
		end, start := s.After(done.AddDate(0, 0, nearDays))
		list = append(list, Date{BySeason, end, start})
	}
	slices.SortStableFunc(list, func(a, b Date) int { return a.On.Compare(b.On) })
	return list
}

// Served is when a service of a unit was last done: the day it was ready, which
// months and seasons count from, and the day it left the shop, after which it
// was ridden again.
type Served struct {
	Ready, Left time.Time
	// Done is when its job ended, to tell it from an event of the same day; zero
	// where that is not known.
	Done time.Time
}

// Facts are what a service of a unit is judged by.
type Facts struct {
	Served *Served // the last time; nil: never done here
	Log    Log     // what was said of its riding
	Season Season  // the shop's
	Norm   Norm    // what its riders have in common
	Asks   []Ask   // what events since then ask of the service
}
