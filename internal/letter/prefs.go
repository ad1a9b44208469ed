package letter

import (
	"time"

	"damperdesk/internal/customer"
	"damperdesk/internal/money"
	"damperdesk/internal/shop"
)

// Prefs is how the customer likes to read days and amounts.
type Prefs struct {
	Zone     *time.Location
	Now      time.Time
	Currency string
	Way      customer.Way // what they chose, over the shop's way
}

// prefsOf are those of a shop's customer: what they see on their page.
func prefsOf(s shop.Settings, way customer.Way, now time.Time) Prefs {
	return Prefs{Zone: s.Location(), Now: now, Currency: s.Currency, Way: way}
}

func (p Prefs) days() customer.DayForm { return customer.DaysIn(p.Way.Days) }

// Moment is a day and its time: "Tuesday 14 October, 17:00", with the year
// unless it is this one.
func (p Prefs) Moment(t time.Time) string { return p.longDay(t) + ", " + p.Clock(t) }

func (p Prefs) longDay(t time.Time) string {
	return p.day(t.In(p.Zone), p.days().Long, p.days().LongYear)
}

// Date is a calendar day without a zone: "14 October", with the year unless it
// is this one.
func (p Prefs) Date(day time.Time) string { return p.day(day, p.days().Date, p.days().DateYear) }

// dueDay is the calendar day on which something is due: with the year also where
// it is over, so that nobody takes it for the next one.
func (p Prefs) dueDay(day time.Time) string {
	if day.Before(p.Now) {
		return p.dated(day)
	}
	return p.Date(day)
}

// dated is Date always with its year.
func (p Prefs) dated(day time.Time) string { return day.Format(p.days().DateYear) }

func (p Prefs) day(t time.Time, layout, withYear string) string {
	if t.Year() != p.Now.In(p.Zone).Year() {
		layout = withYear
	}
	return t.Format(layout)
}

func (p Prefs) clock12() bool { return p.Way.Clock == "12" }

// Clock is the time of day on the wall.
func (p Prefs) Clock(t time.Time) string {
	if p.clock12() {
		return t.In(p.Zone).Format(shop.Hours12)
	}
	return t.In(p.Zone).Format("15:04")
}

// week is when the shop is open, in one line.
func (p Prefs) week(openings []shop.Opening) string {
	if p.clock12() {
		return shop.WeekWordsBy(openings, shop.Clock12)
	}
	return shop.WeekWords(openings)
}

// Money is an amount of minor units: "£72.00".
func (p Prefs) Money(minor int64) string {
	printed := money.Format(minor, p.Currency)
	if p.Way.Decimals == "comma" {
		return customer.WithComma(printed)
	}
	return printed
}
