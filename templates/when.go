package templates

import (
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/customer"
)

// zone is where the shop's clock stands.
func (p Prefs) zone() *time.Location {
	if p.Zone == nil {
		return time.UTC
	}
	return p.Zone
}

func (p Prefs) days() customer.DayForm { return customer.DaysIn(p.Days) }

// Clock is the shop's time of day: "17:00".
func (b Base) Clock(t time.Time) string { return b.local(t).Format(b.Prefs.clock()) }

// Day is a short day: "Thu 16 Oct", with the year unless it is this one.
func (b Base) Day(t time.Time) string {
	f := b.Prefs.days()
	return b.dated(b.local(t), f.Short, f.ShortYear)
}

// LongDay is a day in full: "Tuesday 14 October", with the year unless it is
// this one.
func (b Base) LongDay(t time.Time) string {
	f := b.Prefs.days()
	return b.dated(b.local(t), f.Long, f.LongYear)
}

// Date is a calendar day as a date column gives it, which has no zone:
// "14 March", with the year unless it is this one.
func (b Base) Date(day time.Time) string {
	f := b.Prefs.days()
	return b.dated(day, f.Date, f.DateYear)
}

// dueDay is the calendar day on which something is due: with the year also where
// it is over, so that nobody takes it for the next one.
func (b Base) dueDay(day time.Time) string {
	if day.Before(b.today()) {
		return day.Format(b.Prefs.days().DateYear)
	}
	return b.Date(day)
}

// DayHeading heads what belongs to a day: "Today, Tuesday 14 October".
func (b Base) DayHeading(t time.Time) string {
	words := map[int]string{-1: "Yesterday, ", 0: "Today, ", 1: "Tomorrow, "}
	return words[b.daysTo(t)] + b.LongDay(t)
}

// When is an instant as people say it: "today 17:00", "Thu 17:00" within six
// days either way, else "Thu 16 Oct, 17:00".
func (b Base) When(t time.Time) string {
	switch days := b.daysTo(t); {
	case days == 0:
		return "today " + b.Clock(t)
	case days >= -6 && days <= 6:
		return b.local(t).Format("Mon " + b.Prefs.clock())
	}
	return b.Moment(t)
}

// Moment is an instant in full, fit for paper that outlives today:
// "Thu 16 Oct, 17:00".
func (b Base) Moment(t time.Time) string { return b.Day(t) + ", " + b.Clock(t) }

// Today says whether t falls on the shop's today.
func (b Base) Today(t time.Time) bool { return b.daysTo(t) == 0 }

// Stamp is t for a datetime attribute, at the shop's offset.
func (b Base) Stamp(t time.Time) string { return b.local(t).Format(time.RFC3339) }

// FieldDay and FieldMoment fill fields of type date and datetime-local.
func (b Base) FieldDay(t time.Time) string    { return b.local(t).Format(time.DateOnly) }
func (b Base) FieldMoment(t time.Time) string { return b.local(t).Format("2006-01-02T15:04") }

func (b Base) local(t time.Time) time.Time { return t.In(b.Prefs.zone()) }

// day is t in a layout of the shop's own, with the year behind it unless it is this one.
func (b Base) day(t time.Time, layout string) string { return b.dated(t, layout, layout+" 2006") }

func (b Base) dated(t time.Time, layout, withYear string) string {
	if t.Year() != b.local(b.Now).Year() {
		layout = withYear
	}
	return t.Format(layout)
}

// daysTo counts midnights between now and t by the shop's calendar, so that a
// day of 23 or 25 hours is one day.
func (b Base) daysTo(t time.Time) int {
	return dayNumber(b.local(t)) - dayNumber(b.local(b.Now))
}

func dayNumber(t time.Time) int {
	y, m, d := t.Date()
	return int(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// Long says how long d is, to the minute under a day and to the hour above:
// "1 h 20 min", "2 days 3 h". The sign is left to the words around it.
func Long(d time.Duration) string {
	minutes := int(d.Abs().Round(time.Minute) / time.Minute)
	days, hours := minutes/1440, minutes%1440/60
	minutes %= 60
	var parts []string
	switch {
	case days == 1:
		parts = append(parts, "1 day")
	case days > 1:
		parts = append(parts, strconv.Itoa(days)+" days")
	}
	if hours > 0 {
		parts = append(parts, strconv.Itoa(hours)+" h")
	}
	if days == 0 && (minutes > 0 || hours == 0) {
		parts = append(parts, strconv.Itoa(minutes)+" min")
	}
	return strings.Join(parts, " ")
}
