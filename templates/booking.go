package templates

import (
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/shop"
)

// VisitBooking is what the forms about a booking need.
type VisitBooking struct {
	Here, Rebook Base
	Terms        *shop.Terms // to be accepted; nil: they were, or the shop has none
}

func (p VisitPage) bookedDay() string { return p.day(*p.Visit.BookedFor, "Monday 2 January") }

func (p VisitPage) lapsed() bool {
	return job.Lapsed(job.Booked, p.Visit.BookedFor, interval.Day(p.Now, p.Prefs.zone()))
}

// bookedOptions are the units that are to come, all of them here as a rule.
func (p VisitPage) bookedOptions() []Option {
	var options []Option
	for _, j := range p.Visit.Jobs {
		if j.Stage == job.Booked {
			options = append(options, Option{Value: idText(j.ID), Label: num(j.Number) + ", " + j.Unit, Chosen: true})
		}
	}
	return options
}

// chosenWord offers words as they are with one chosen.
func chosenWord(words []string, chosen string) []Option {
	options := wordOptions(words)
	for i := range options {
		options[i].Chosen = options[i].Value == chosen
	}
	return options
}
