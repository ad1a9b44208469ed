package templates

import (
	"damperdesk/internal/book"
	"damperdesk/internal/customer"
)

// ReadBookPage asks for the file of a service book.
type ReadBookPage struct {
	Base
	Unit     customer.Unit     // ID 0: not said
	Customer customer.Customer // ID 0: not said
}

// forWhom says whose book it is.
func (p ReadBookPage) forWhom() string {
	switch {
	case p.Unit.ID != 0:
		return "It is read into the book of " + p.Unit.Name + "."
	case p.Customer.ID != 0:
		return "It is of a unit of " + p.Customer.Name + ": the one with its serial, else a new one."
	}
	return "It is read into the book of the unit here that has its serial. For a unit that is new, begin on the page of the customer."
}

// bookParts are the parts of the file and what stands in each.
var bookParts = [][2]string{
	{"made, shop", "the day, and who made the file"},
	{"unit", "kind (fork, rear shock, seatpost); maker and model, or words; serial, spring (air, coil, none), travel_mm"},
	{"services", "each with ref, day, shop, services (code and name), found, readings and settings"},
	{"found", "step, what, grade, put_right: in words of the shop’s lists"},
	{"readings", "step and what; value with quantity and unit, count, or grade with the grades of its scale"},
	{"settings", "as returned: key, name, form (clicks, turns, positions); value with quantity and unit, count, or words"},
	{"ride_hours", "kind stated (hours from since until on), habit (rides_a_week of hours_a_ride; season: in the season, off the season) or meter (hours in all, read_on); on, since, indoor_hours, conditions (dry, wet and gritty, bike park, e-bike), source"},
	{"intervals", "code and name, hours, months, season: the shop’s that made it, read and not taken over"},
	{"left_out", "how many services and ride_hours, the oldest, the file had no room for; none: it has all"},
}

// BookPlanPage is what reading a service book in would do.
type BookPlanPage struct {
	Base
	Plan book.Plan
}

func (p BookPlanPage) path() string { return "/units/read-book/" + itoa(p.Plan.ID) }

// target says what the file goes to.
func (p BookPlanPage) target() string {
	if p.Plan.Unit.ID == 0 {
		return "A new unit of " + p.Plan.Customer.Name + ": " + p.Plan.File.Unit.Name() + "."
	}
	return p.Plan.Unit.Name + " of " + p.Plan.Customer.Name + "."
}

// tally counts what it brings.
func (p BookPlanPage) tally() string {
	text := plural(len(p.Plan.Works), "earlier service") + " with " + plural(p.Plan.Readings(), "reading") + ", " + plural(len(p.Plan.Hours), "note") + " of ride hours."
	if p.Plan.Known > 0 {
		text += " In the book already: " + plural(p.Plan.Known, "service") + "."
	}
	if p.Plan.Back > 0 {
		text += " Taken back here before, and left out: " + plural(p.Plan.Back, "service") + "."
	}
	return text
}

// leftOut says what the file had no room for, of one that says so.
func (p BookPlanPage) leftOut() string {
	out := p.Plan.File.LeftOut
	return "The oldest, for which it had no room: " + plural(out.Services, "service") + ", " + plural(out.RideHours, "note") + " of ride hours."
}

// alikeText says why a new unit may be none.
func alikeText(u customer.Unit) string {
	return u.Name + " (" + unitSmall(u) + ") has services of this file in its book already. If that is the one, take no second:"
}
