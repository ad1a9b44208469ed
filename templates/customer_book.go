package templates

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"damperdesk/internal/book"
	"damperdesk/internal/chart"
	"damperdesk/internal/customer"
	"damperdesk/internal/due"
	"damperdesk/internal/interval"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// RiderBookPage is the service book of a unit as whoever has its link sees it.
type RiderBookPage struct {
	Base
	book.Book
	Token string
	Way   customer.Way // how the customer who has the unit reads
	Since *time.Time   // the day its hours count from; nil where none is known
	// LeftOut is what the book as a file has no room for; nil: it has all.
	LeftOut *book.LeftOut
}

// The most that stands on the page, the newest of each: it is read over a phone.
const (
	mostBookWorks  = 40
	mostBookNotes  = 40
	mostBookValues = 12 // of one course
)

// shownWorks are the services that stand on the page.
func (p RiderBookPage) shownWorks() []book.Work { return p.Works[:min(len(p.Works), mostBookWorks)] }

// shownNotes are the ride hours that stand on the page, the newest first.
func (p RiderBookPage) shownNotes() []interval.Reading {
	list := slices.Clone(p.Readings)
	slices.Reverse(list)
	return list[:min(len(list), mostBookNotes)]
}

func (p RiderBookPage) titled() Base {
	b := p.Base
	b.Title = p.titleText()
	return b
}

func (p RiderBookPage) path() string { return "/b/" + p.Token }

// dues are the services that were done before; what was never done is due by no
// interval.
func (p RiderBookPage) dues() []due.Row {
	return slices.DeleteFunc(slices.Clone(p.Due), func(r due.Row) bool { return r.Served == nil && r.Asked == nil })
}

// lastSet is the newest work with settings; ok is false without any.
func (p RiderBookPage) lastSet() (book.Work, bool) {
	i := slices.IndexFunc(p.Works, func(w book.Work) bool { return len(w.Settings) > 0 })
	if i < 0 {
		return book.Work{}, false
	}
	return p.Works[i], true
}

// course is what one step read each time, the newest first, as many as stand on
// the page.
type course struct {
	first book.Reading // that names it: the newest
	id    string
	each  []dated
	of    int // that there are
}

type dated struct {
	book.Reading
	day time.Time
}

// courses gathers the readings by step.
func (p RiderBookPage) courses() []course {
	var list []course
	for _, w := range p.Works {
		for _, r := range w.Readings {
			i := slices.IndexFunc(list, func(c course) bool { return c.first.Step == r.Step })
			if i < 0 {
				i = len(list)
				list = append(list, course{first: r, id: "course-" + num(i+1)})
			}
			if list[i].of++; list[i].of <= mostBookValues {
				list[i].each = append(list[i].each, dated{r, w.Day.Time})
			}
		}
	}
	rank := func(c course) int {
		if i := slices.Index(firstCourses, c.first.Step); i >= 0 {
			return i
		}
		return len(firstCourses)
	}
	slices.SortStableFunc(list, func(x, y course) int { return rank(x) - rank(y) })
	return list
}

// trail draws a course where two at least lie on one scale.
func (c course) trail() (chart.Drawing, bool) {
	var values []chart.Value
	for _, r := range slices.Backward(c.each) {
		if y, ok := c.at(r.Reading); ok {
			values = append(values, chart.Value{X: float64(r.day.Unix()), Y: y})
		}
	}
	title, about := trailText(readingText(c.first), len(values))
	return chart.Trail(c.id, title, about, values), len(values) > 1
}

// at is where a reading lies on the scale of its newest; ok is false for one of
// another kind.
func (c course) at(r book.Reading) (y float64, ok bool) {
	switch {
	case c.first.Value != nil:
		if r.Value == nil || r.Quantity != c.first.Quantity {
			return 0, false
		}
		return *r.Value, true
	case c.first.Count != nil && c.first.Grade == "":
		if r.Count == nil {
			return 0, false
		}
		return *r.Count, true
	}
	i := slices.Index(c.first.Grades, r.Grade)
	return float64(i), i >= 0
}

// valueText is a reading in the unit that its reader chose, else in the one it was
// read in.
func (p RiderBookPage) valueText(r book.Reading) string {
	var parts []string
	if r.Grade != "" {
		parts = append(parts, r.Grade)
	}
	if r.Value != nil {
		unit := cmp.Or(p.chosen(r.Quantity), r.ShownIn, p.Prefs.Unit(r.Quantity))
		parts = append(parts, p.Prefs.decimals(spec.Show(r.Quantity, *r.Value, unit)))
	}
	if r.Count != nil && r.Grade == "" {
		parts = append(parts, p.count(*r.Count))
	}
	return strings.Join(parts, ", ")
}

// chosen is the unit that the customer chose for a kind; empty where none was.
func (p RiderBookPage) chosen(kind quantity.Kind) quantity.Unit {
	return quantity.Unit(map[quantity.Kind]string{
		quantity.KindPressure: p.Way.Pressure, quantity.KindMass: p.Way.Mass, quantity.KindTorque: p.Way.Torque}[kind])
}

// setText is one setting: its name as on the settings card, and its value.
func (b Base) setText(s book.Setting) (name, value string) {
	if name = s.Name; s.Key == "pressure" {
		name = textBookAir
	}
	if s.Form != "" {
		name += ", " + s.Form
	}
	switch {
	case s.Words != "":
		return name, s.Words
	case s.Value != nil:
		return name, b.Prefs.Quantity(s.Quantity, *s.Value)
	case s.Count != nil:
		return name, b.count(*s.Count)
	}
	return name, ""
}
