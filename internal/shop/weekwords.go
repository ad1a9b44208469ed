package shop

import (
	"strings"
	"time"
)

// Weekdays is the order in which people read a week.
var Weekdays = []time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday, time.Saturday, time.Sunday}

// weekRows lists the week's hours from Monday, days with the same spans joined.
func weekRows(week []Opening, clock func(minute int) string) [][2]string {
	var rows [][2]string
	var first string
	for _, day := range Weekdays {
		spans := spansOf(week, day, clock)
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

// SpansOf is one day of a week: "10:00 to 13:00, 14:00 to 16:00", or closed.
func SpansOf(week []Opening, day time.Weekday) string { return spansOf(week, day, Clock) }

func spansOf(week []Opening, day time.Weekday, clock func(minute int) string) string {
	var spans []string
	for _, o := range week {
		if o.Weekday == day {
			spans = append(spans, clock(o.OpenMin)+" to "+clock(o.CloseMin))
		}
	}
	if len(spans) == 0 {
		return closed
	}
	return strings.Join(spans, ", ")
}

// WeekWords is a week in one line, of the days that are open: "Tuesday to
// Friday 10:00 to 18:00; Saturday 10:00 to 13:00, 14:00 to 16:00".
func WeekWords(week []Opening) string { return WeekWordsBy(week, Clock) }

// WeekWordsBy is WeekWords by another clock, such as Clock12.
func WeekWordsBy(week []Opening, clock func(minute int) string) string {
	var parts []string
	for _, row := range weekRows(week, clock) {
		if row[1] != closed {
			parts = append(parts, row[0]+" "+row[1])
		}
	}
	return strings.Join(parts, "; ")
}
