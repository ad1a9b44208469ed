package interval

import (
	"slices"
	"time"
)

// Wants is what would make known how a service stands.
type Wants string

// What may be wanted.
const (
	WantsNothing Wants = ""
	WantsService Wants = "service" // its first time here
	WantsRiding  Wants = "riding"  // hours since then, or rides a week and how long
)

// Outlook is when a service of a unit comes to be due again, and why. It is
// reckoned once and holds on every day, until something more is known. A day
// that never comes, or not in ten years, is the zero time.
type Outlook struct {
	Rule   Rule
	Served *Served // nil: never done here, which leaves all unknown but what events ask
	Wants  Wants
	// Hours were used from Served.Left to Counted, the last day that was
	// counted.
	Hours   float64
	Counted time.Time
	Forecast
	Dates []Date // limits that come whatever is ridden, the earliest first
	// The days from which it is so, each the earliest that a limit says.
	Soon, Due, Overdue time.Time
	By                 By     // the limit that comes first; empty where none does
	Asked              *Event // the event that By is
	Asks               []Ask  // what events ask; none where it comes from a table
}

// Outlook judges the rule and what events ask by what is known. Of limits on one
// day hours come before dates, and those before an event.
func (r Rule) Outlook(f Facts) Outlook {
	o := Outlook{Rule: r, Served: f.Served, Asks: f.Asks}
	if f.Served == nil {
		if r.Counts() || len(f.Asks) == 0 {
			o.Wants = WantsService
		}
	} else {
		o.rule(f)
	}
	for _, a := range f.Asks {
		o.ask(a, f)
	}
	slices.SortStableFunc(o.Dates, func(a, b Date) int { return a.On.Compare(b.On) })
	return o
}

// rule takes in the limits of the rule itself.
func (o *Outlook) rule(f Facts) {
	if o.Rule.Hours > 0 {
		r := o.hours(o.Rule.Hours, f.Served.Left, f)
		o.Hours, o.Counted, o.Forecast = r.hours, r.counted, r.Forecast
		o.add(ByHours, r.soon, r.Median, r.overdue)
	}
	o.Dates = o.Rule.Dates(f.Served.Ready, f.Season)
	for _, d := range o.Dates {
		o.add(d.By, d.On.AddDate(0, 0, -nearDays), d.On, d.Late)
	}
}

// ask takes in what an event asks.
func (o *Outlook) ask(a Ask, f Facts) {
	first := false
	if a.Rule.Hours > 0 {
		r := o.hours(a.Rule.Hours, a.Event.Day(), f)
		first = o.add(a.By(), r.soon, r.Median, r.overdue)
	}
	for _, d := range a.dates() {
		o.Dates = append(o.Dates, d)
		first = o.add(d.By, d.On.AddDate(0, 0, -nearDays), d.On, d.Late) || first
	}
	if first {
		o.Asked = &a.Event
	}
}

// limit is when hours come to one.
type limit struct {
	Forecast
	soon, overdue time.Time
	hours         float64
	counted       time.Time
}

func (o *Outlook) hours(n int, since time.Time, f Facts) limit {
	if !f.Log.Known() {
		if o.Wants == WantsNothing {
			o.Wants = WantsRiding
		}
		return limit{counted: since}
	}
	r, level := f.Log.since(since, f.Norm), float64(n)
	return limit{f.Log.foretell(r, level, f.Norm), r.comesTo(level*(1-1.0/nearPart), 0.5)[0], r.comesTo(level*(1+1.0/nearPart), 0.5)[0],
		r.hours(), r.until()}
}

// add takes in what a limit says; first is whether none comes before it.
func (o *Outlook) add(by By, soon, due, overdue time.Time) (first bool) {
	if first = sooner(due, o.Due); first {
		o.By, o.Due = by, due
	}
	if sooner(soon, o.Soon) {
		o.Soon = soon
	}
	if sooner(overdue, o.Overdue) {
		o.Overdue = overdue
	}
	return first
}

// sooner compares days, of which the zero time never comes.
func sooner(a, b time.Time) bool { return !a.IsZero() && (b.IsZero() || a.Before(b)) }

// State is how it stands on a day.
func (o Outlook) State(today time.Time) State {
	come := func(day time.Time) bool { return !day.IsZero() && !today.Before(day) }
	switch {
	case come(o.Overdue):
		return Overdue
	case come(o.Due):
		return Due
	case come(o.Soon):
		return Soon
	case o.Wants != WantsNothing:
		return Unknown
	}
	return Fine
}

// HoursBy is about how many hours are ridden by a day from Counted on: as if it
// were ridden evenly until the limit is met.
func (o Outlook) HoursBy(day time.Time) float64 {
	if o.Median.IsZero() || !o.Counted.Before(o.Median) || !o.Counted.Before(day) {
		return o.Hours
	}
	share := float64(days(o.Counted, day)) / float64(days(o.Counted, o.Median))
	return o.Hours + share*(float64(o.Rule.Hours)-o.Hours)
}
