package templates

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/job"
	"damperdesk/internal/shop"
)

// WeekWords is a week in one line, of the days that are open: "Tuesday to
// Friday 10:00 to 18:00; Saturday 10:00 to 13:00, 14:00 to 16:00".
func WeekWords(week []shop.Opening) string {
	var parts []string
	for _, row := range (Prefs{}).weekdays(week) {
		if row[1] != closed {
			parts = append(parts, row[0]+" "+row[1])
		}
	}
	return strings.Join(parts, "; ")
}

// BreakWords is when the shop is closed: "Thu 24 Dec from 13:00", "Fri 25 Dec
// to Sat 2 Jan 2027".
func (b Base) BreakWords(br shop.Break) string {
	words := b.day(br.First, "Mon 2 Jan")
	if !br.Last.Equal(br.First) {
		words += " to " + b.day(br.Last, "Mon 2 Jan")
	}
	switch {
	case br.FromMin == 0 && br.ToMin == shop.DayEnd:
		return words
	case br.ToMin == shop.DayEnd:
		return words + " from " + shop.Clock(br.FromMin)
	case br.FromMin == 0:
		return words + " until " + shop.Clock(br.ToMin)
	}
	return words + ", " + shop.Clock(br.FromMin) + " to " + shop.Clock(br.ToMin)
}

// BreaksAhead are the closures that have not passed.
func (b Base) BreaksAhead(h shop.Hours) []shop.Break {
	return slices.DeleteFunc(h.Breaks(), b.past)
}

// past says whether a closure lies before the shop's today.
func (b Base) past(br shop.Break) bool { return br.Last.Format(time.DateOnly) < b.FieldDay(b.Now) }

// HoursPage sets the week and the days off. Each form has a Base of its own.
type HoursPage struct {
	Base
	Hours                  shop.Hours
	Week, Closing, Opening Base
	Region, Holiday        Base
	Shut                   []job.BoardRow // promised for when the shop is closed
}

func (p HoursPage) breaks() (ahead, past []shop.Break) {
	past = slices.DeleteFunc(p.Hours.Breaks(), func(br shop.Break) bool { return !p.past(br) })
	slices.Reverse(past)
	return p.BreaksAhead(p.Hours), past
}

// openWords says how long the shop is open: "Open 40 h a week."
func (p HoursPage) openWords() string {
	minutes := 0
	for _, o := range p.Hours.Openings {
		minutes += o.CloseMin - o.OpenMin
	}
	words := strconv.Itoa(minutes/60) + " h"
	if minutes%60 > 0 {
		words += " " + strconv.Itoa(minutes%60) + " min"
	}
	return "Open " + words + " a week."
}

// ShutWords says how many jobs are promised for a time that cannot be kept.
func ShutWords(jobs int) string { return plural(jobs, "job") + " promised for when the shop is closed" }

// weekFromMonday is the order in which people read a week.
var weekFromMonday = []time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday, time.Saturday, time.Sunday}

// OpeningForm is how a hidden field holds an opening.
const OpeningForm = "%d %d %d"

func openingValue(o shop.Opening) string {
	return fmt.Sprintf(OpeningForm, o.Weekday, o.OpenMin, o.CloseMin)
}

// breakValue is how a button holds a closure; BreakOf reads it.
func breakValue(b shop.Break) string {
	return fmt.Sprint(b.First.Format(time.DateOnly), " ", b.Last.Format(time.DateOnly), " ", b.FromMin, " ", b.ToMin)
}

func BreakOf(value string) (b shop.Break, err error) {
	var first, last string
	if _, err = fmt.Sscan(value, &first, &last, &b.FromMin, &b.ToMin); err != nil {
		return b, err
	}
	if b.First, err = time.Parse(time.DateOnly, first); err != nil {
		return b, err
	}
	b.Last, err = time.Parse(time.DateOnly, last)
	return b, err
}

// regionOptions are all regions whose holidays are known, none first.
func (p HoursPage) regionOptions() []Option {
	list := []Option{{Value: "", Label: "none", Chosen: p.Hours.HolidaysOf == ""}}
	for _, r := range shop.Regions {
		list = append(list, Option{Value: r.Code, Label: r.Name, Chosen: r.Code == p.Hours.HolidaysOf})
	}
	return list
}

func (p HoursPage) holidays() []shop.Holiday { return p.Hours.HolidaysFrom(p.ShopDay()) }

// ShopDay is the shop's day, at midnight UTC.
func (b Base) ShopDay() time.Time {
	day, _ := time.Parse(time.DateOnly, b.FieldDay(b.Now))
	return day
}

// RegionWords says whose holidays a shop keeps; empty for none.
func RegionWords(h shop.Hours) string {
	r, _ := shop.RegionOf(h.HolidaysOf)
	return r.Name
}
