package interval

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"damperdesk/internal/quantity"
)

// rideLength is hours and minutes, as 1:30, 1 h 30 min, 1h30 or 1 h.
var rideLength = regexp.MustCompile(`(?i)^([0-9]{1,2})\s*(?::|h|hrs?|hours?)\s*(?:([0-5]?[0-9])\s*(?:m|min|mins|minutes)?)?$`)

// minutesFrom is the first bare number that can only be minutes: rides of that
// many hours are rarer than rides typed in minutes.
const minutesFrom = 13

// ParseRide reads how long a ride is, in hours: "90 min", "1:30", "1 h 30",
// "1.5 h". A bare number below 13 is hours, above it minutes. Errors are
// *quantity.ParseError.
func ParseRide(text string) (float64, error) {
	t := strings.TrimSpace(text)
	if m := rideLength.FindStringSubmatch(t); m != nil && !strings.HasSuffix(t, ":") {
		hours, _ := strconv.Atoi(m[1])
		minutes, _ := strconv.Atoi(m[2])
		return float64(hours) + float64(minutes)/60, nil
	}
	number, unit := t, ""
	if i := strings.IndexFunc(t, func(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' }); i >= 0 {
		number, unit = strings.TrimSpace(t[:i]), strings.ToLower(t[i:])
	}
	n, err := quantity.ParseNumber(number)
	switch {
	case err != nil || math.IsNaN(n):
		return 0, &quantity.ParseError{Text: t, Message: unclearRide}
	case slices.Contains([]string{"h", "hr", "hrs", "hour", "hours"}, unit) || unit == "" && n < minutesFrom:
		return n, nil
	case slices.Contains([]string{"m", "min", "mins", "minute", "minutes"}, unit) || unit == "":
		return n / 60, nil
	}
	return 0, &quantity.ParseError{Text: t, Message: unclearRide}
}

const unclearRide = "Type how long each ride is, such as 90 min, 1.5 h or 1:30."
