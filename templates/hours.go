package templates

import (
	"strings"
	"time"

	"damperdesk/internal/shop"
)

// weekdays lists the week's hours from Monday, days with the same spans joined.
func weekdays(week []shop.Opening) [][2]string {
	var rows [][2]string
	var first string
	for i := range 7 {
		day := time.Weekday((i + 1) % 7)
		spans := spansOf(week, day)
		if n := len(rows); n > 0 && rows[n-1][1] == spans {
			rows[n-1][0] = first + " to " + day.String()
			continue
		}
		first = day.String()
		rows = append(rows, [2]string{first, spans})
	}
	return rows
}

const closed = "closed"

func spansOf(week []shop.Opening, day time.Weekday) string {
	var spans []string
	for _, o := range week {
		if o.Weekday == day {
			spans = append(spans, o.Words())
		}
	}
	if len(spans) == 0 {
		return closed
	}
	return strings.Join(spans, ", ")
}

// WeekWords is a week in one line, of the days that are open: "Tuesday to
// Friday 10:00 to 18:00; Saturday 10:00 to 13:00, 14:00 to 16:00".
func WeekWords(week []shop.Opening) string {
	var parts []string
	for _, row := range weekdays(week) {
		if row[1] != closed {
			parts = append(parts, row[0]+" "+row[1])
		}
	}
	return strings.Join(parts, "; ")
}

// ClosureWords is a day the shop is closed, or for how much of it: "Thu 24 Dec
// from 13:00".
func (b Base) ClosureWords(c shop.Closure) string { return b.day(c.Day, "Mon 2 Jan") + closedFor(c) }

func closedFor(c shop.Closure) string {
	switch {
	case c.FromMin == 0 && c.ToMin == shop.DayEnd:
		return ""
	case c.ToMin == shop.DayEnd:
		return " from " + shop.Clock(c.FromMin)
	case c.FromMin == 0:
		return " until " + shop.Clock(c.ToMin)
	}
	return " " + shop.Clock(c.FromMin) + " to " + shop.Clock(c.ToMin)
}
