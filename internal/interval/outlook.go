package interval

import "time"

// Asks is what would make known how a service stands.
type Asks string

// What may be asked for.
const (
	AsksNothing Asks = ""
	AsksService Asks = "service" // its first time here
	AsksRiding  Asks = "riding"  // hours since then, or rides a week and how long
)

// Outlook is when a service of a unit comes to be due again, and why. It is
// reckoned once and holds on every day, until something more is known. A day
// that never comes, or not in ten years, is the zero time.
type Outlook struct {
	Rule   Rule
	Served *Served // nil: never done here, which leaves all unknown
	Asks   Asks
	// Hours were ridden from Served.Left to Counted, the last day that was
	// counted.
	Hours   float64
	Counted time.Time
	Forecast
	Dates []Date // limits that come whatever is ridden, the earliest first
	// The days from which it is so, each the earliest that a limit says.
	Soon, Due, Overdue time.Time
	By                 By // the limit that comes first; empty where none does
}

// Outlook judges the rule by what is known. Between two limits on one day hours
// come before dates.
func (r Rule) Outlook(f Facts) Outlook {
	o := Outlook{Rule: r, Served: f.Served}
	if f.Served == nil {
		o.Asks = AsksService
		return o
	}
	if r.Hours > 0 {
		o.reckonHours(f)
	}
	o.Dates = r.Dates(f.Served.Ready, f.Season)
	for _, d := range o.Dates {
		o.add(d.By, d.On.AddDate(0, 0, -nearDays), d.On, d.Late)
	}
	return o
}

func (o *Outlook) reckonHours(f Facts) {
	if o.Counted = f.Served.Left; !f.Log.Known() {
		o.Asks = AsksRiding
		return
	}
	riding := f.Log.since(f.Served.Left, f.Norm)
	o.Hours, o.Counted = riding.hours(), riding.until()
	limit := float64(o.Rule.Hours)
	due := riding.comesTo(limit, (1-band)/2, 0.5, (1+band)/2)
	o.Forecast = Forecast{due[0], due[1], due[2]}
	soon := riding.comesTo(limit*(1-1.0/nearPart), 0.5)
	overdue := riding.comesTo(limit*(1+1.0/nearPart), 0.5)
	o.add(ByHours, soon[0], o.Median, overdue[0])
}

// add takes in what a limit says.
func (o *Outlook) add(by By, soon, due, overdue time.Time) {
	if sooner(due, o.Due) {
		o.By, o.Due = by, due
	}
	if sooner(soon, o.Soon) {
		o.Soon = soon
	}
	if sooner(overdue, o.Overdue) {
		o.Overdue = overdue
	}
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
	case o.Asks != AsksNothing:
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
