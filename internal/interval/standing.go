package interval

import (
	"cmp"
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
// It is unknown where the rule counts hours that nobody knows and no date says
// soon or more: hours could only make it sooner. Where nothing is known of the
// last time, all is unknown. Else it is fine.
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

func (d Date) state(today time.Time) State {
	switch {
	case !today.Before(d.Late):
		return Overdue
	case !today.Before(d.On):
		return Due
	case days(today, d.On) <= nearDays:
		return Soon
	}
	return Fine
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

// Standing is how a service of a unit stands on a day, and why.
type Standing struct {
	State State
	// By is the limit that says so, the earliest named where several do; empty
	// while the state is unknown.
	By     By
	Rule   Rule
	Served *Served // nil: never done here, which leaves all unknown but what events ask
	Ridden Ridden  // since then
	Dates  []Date  // the earliest first, those of events too
	Asks   []Asked // what events ask, the most urgent first
}

// Asked is the event that the state is by, nil for none.
func (s Standing) Asked() *Asked {
	if len(s.Asks) > 0 && s.Asks[0].By() == s.By {
		return &s.Asks[0]
	}
	return nil
}

// Facts are what a service of a unit is judged by.
type Facts struct {
	Served *Served // the last time; nil: never done here
	Log    Log     // what was said of its riding
	Season Season  // the shop's
	Asks   []Ask   // what events since then ask of the service
}

// Stand judges the rule on a day. Of several limits the one that is furthest
// along counts; between two as far along hours that are known come before
// dates, an earlier date before a later one, and all of these before an event.
func (r Rule) Stand(f Facts, today time.Time) Standing {
	st := Standing{State: Fine, Rule: r, Served: f.Served}
	limits := r.limits(&st, f, today)
	st.ask(f, today)
	for _, a := range st.Asks {
		limits = append(limits, limit{a.State, a.By()})
	}
	if len(limits) == 0 {
		return st
	}
	first := slices.MinFunc(limits, func(a, b limit) int { return Urgency(a.state, b.state) })
	st.State, st.By = first.state, first.by
	if st.State == Unknown {
		st.By = ""
	}
	return st
}

// limits are those of the rule itself.
func (r Rule) limits(st *Standing, f Facts, today time.Time) (limits []limit) {
	if f.Served == nil {
		if r.Counts() || len(f.Asks) == 0 {
			limits = append(limits, limit{Unknown, ""})
		}
		return limits
	}
	st.Ridden = f.Log.Ridden(f.Served.Left, today)
	st.Dates = r.Dates(f.Served.Ready, f.Season)
	if r.Hours > 0 {
		limits = append(limits, limit{st.Ridden.state(r.Hours), ByHours})
	}
	for _, d := range st.Dates {
		limits = append(limits, limit{d.state(today), d.By})
	}
	return limits
}

// ask judges what events ask.
func (st *Standing) ask(f Facts, today time.Time) {
	for _, a := range f.Asks {
		asked := a.stand(f.Log, today)
		st.Asks = append(st.Asks, asked)
		st.Dates = append(st.Dates, asked.Dates...)
	}
	slices.SortStableFunc(st.Asks, func(a, b Asked) int { return Urgency(a.State, b.State) })
	slices.SortStableFunc(st.Dates, func(a, b Date) int { return a.On.Compare(b.On) })
}

type limit struct {
	state State
	by    By
}

// Earliest orders standings of one state: those with the earliest date first,
// then those with the greatest part of their hours ridden.
func Earliest(a, b Standing) int {
	date := func(s Standing) time.Time {
		if len(s.Dates) == 0 {
			return time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)
		}
		return s.Dates[0].On
	}
	return cmp.Or(Urgency(a.State, b.State), cmp.Compare(b.part(), a.part()), date(a).Compare(date(b)))
}

// part is how much of the hours is ridden where they decide.
func (s Standing) part() float64 {
	if s.By != ByHours {
		return 0
	}
	return s.Ridden.Hours / float64(s.Rule.Hours)
}
