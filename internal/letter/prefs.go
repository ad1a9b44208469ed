package letter

import (
	"time"

	"damperdesk/internal/money"
	"damperdesk/internal/shop"
)

// Prefs is how the customer likes to read days and amounts.
type Prefs struct {
	Zone     *time.Location
	Now      time.Time
	Currency string
}

// prefsOf are those of a shop: what its customers see on their page.
func prefsOf(s shop.Settings, now time.Time) Prefs {
	return Prefs{Zone: s.Location(), Now: now, Currency: s.Currency}
}

// Moment is a day and its time: "Tuesday 14 October, 17:00", with the year
// unless it is this one.
func (p Prefs) Moment(t time.Time) string {
	return p.day(t.In(p.Zone), "Monday 2 January") + ", " + p.Clock(t)
}

// Date is a calendar day without a zone: "14 October", with the year unless it
// is this one.
func (p Prefs) Date(day time.Time) string { return p.day(day, "2 January") }

// Clock is the time of day on the wall.
func (p Prefs) Clock(t time.Time) string { return t.In(p.Zone).Format("15:04") }

func (p Prefs) day(t time.Time, layout string) string {
	if t.Year() != p.Now.In(p.Zone).Year() {
		layout += " 2006"
	}
	return t.Format(layout)
}

// Money is an amount of minor units: "£72.00".
func (p Prefs) Money(minor int64) string { return money.Format(minor, p.Currency) }
