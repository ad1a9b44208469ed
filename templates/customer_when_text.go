package templates

import (
	"strings"
	"time"

	"damperdesk/internal/shop"
)

// Days, times and hours as customers read them; the shop reads them in the first form.

// clock is the layout of a time of day.
func (p Prefs) clock() string {
	if p.Clock12 {
		return shop.Hours12
	}
	return "15:04"
}

// Minute is a time of day of the shop's hours, in minutes since midnight: "17:00";
// the end of the day is "24:00".
func (p Prefs) Minute(minute int) string {
	if !p.Clock12 {
		return shop.Clock(minute)
	}
	return shop.Clock12(minute)
}

// weekdays lists the week's hours from Monday, days with the same spans joined.
func (p Prefs) weekdays(week []shop.Opening) [][2]string {
	var rows [][2]string
	var first string
	for _, day := range shop.Weekdays {
		spans := p.spansOf(week, day)
		if n := len(rows); n > 0 && rows[n-1][1] == spans {
			rows[n-1][0] = fromTo(first, day.String())
			continue
		}
		first = day.String()
		rows = append(rows, [2]string{first, spans})
	}
	return rows
}

const closed = "closed"

func (p Prefs) spansOf(week []shop.Opening, day time.Weekday) string {
	var spans []string
	for _, o := range week {
		if o.Weekday == day {
			spans = append(spans, fromTo(p.Minute(o.OpenMin), p.Minute(o.CloseMin)))
		}
	}
	if len(spans) == 0 {
		return closed
	}
	return strings.Join(spans, ", ")
}

func fromTo(from, to string) string { return from + " to " + to }

// comeBy says when the shop is open, and when next on another day: "now, until 18:00"
// and "or Wednesday from 10:00".
func (p CustomerPage) comeBy() (when, or string) {
	if !p.Then.IsZero() {
		or = " or " + p.LongDay(p.Then) + " from " + p.Clock(p.Then)
	}
	switch {
	case p.From.IsZero():
		return "", ""
	case !p.From.After(p.Now):
		return "now, until " + p.Clock(p.To), or
	case p.daysTo(p.From) == 0:
		return "today from " + p.Clock(p.From) + " until " + p.Clock(p.To), or
	}
	return p.LongDay(p.From) + " from " + p.Clock(p.From), ""
}
