package templates

import (
	"strconv"
	"strings"

	"damperdesk/internal/interval"
)

// hours is a number of hours to a tenth below 100, without a stray zero.
func hours(h float64) string {
	digits := 1
	if h >= 100 {
		digits = 0
	}
	return strings.TrimSuffix(strconv.FormatFloat(h, 'f', digits, 64), ".0")
}

// rideLength is how long a ride is: "1 h 30 min".
func rideLength(h float64) string {
	minutes := int(h*60 + 0.5)
	var parts []string
	if minutes >= 60 {
		parts = append(parts, num(minutes/60)+" h")
	}
	if minutes%60 > 0 || minutes == 0 {
		parts = append(parts, num(minutes%60)+" min")
	}
	return strings.Join(parts, " ")
}

// readingWords says what was said.
func (b Base) readingWords(r interval.Reading) string {
	since := ""
	if r.Since != nil {
		since = " since " + b.Date(*r.Since)
	}
	switch {
	case r.Kind == interval.Stated && since == "":
		return hours(r.Hours) + " h since the last service elsewhere"
	case r.Kind == interval.Stated:
		return hours(r.Hours) + " h" + since
	case r.RidesAWeek == 0:
		return "not ridden" + since
	case r.RidesAWeek == 1:
		return "one ride a week of " + rideLength(r.HoursARide) + since
	}
	return hours(r.RidesAWeek) + " rides a week of " + rideLength(r.HoursARide) + since
}

// saidByOptions are who may have said it.
func saidByOptions() []Option { return wordOptions(interval.Sources) }
