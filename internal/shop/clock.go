package shop

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/fault"
	"damperdesk/internal/worktime"
)

// DayEnd is the minute at which every day ends.
const DayEnd = worktime.DayEnd

// Clock is a minute of the day as the clock shows it; the end of the day is
// "24:00".
func Clock(minute int) string { return fmt.Sprintf("%02d:%02d", minute/60, minute%60) }

// Hours12 is the layout, as package time has it, of a clock of twelve hours.
const Hours12 = "3:04\u00a0pm"

// Clock12 is Clock by a clock of twelve hours; the end of the day is "midnight".
func Clock12(minute int) string {
	if minute == DayEnd {
		return "midnight"
	}
	return time.Date(1, 1, 1, 0, minute, 0, 0, time.UTC).Format(Hours12)
}

const clockPattern = `(?:noon|midnight|(?:\d{1,2}[:.h]\d{2}|\d{3,4}|\d{1,2})(?:\s*[ap]\.?m\.?)?)`

var (
	clockForm = regexp.MustCompile(`^(?:(noon|midnight)|(?:(\d{1,2})[:.h](\d{2})|(\d{1,2})(\d{2})|(\d{1,2}))(?:\s*([ap])\.?m\.?)?)$`)
	spanForm  = regexp.MustCompile(`^(` + clockPattern + `)\s*(?:-|–|—|to|till|until)\s*(` + clockPattern + `)(?:$|\s*(?:[,;/&+\n]|\band\b)\s*|\s+)`)
)

// ParseClock reads a time of day as people type it: "10", "10:00", "1000",
// "9.30", "6 pm", "noon". 24:00 is the end of the day.
func ParseClock(text string) (minute int, ok bool) {
	m := clockForm.FindStringSubmatch(strings.ToLower(strings.TrimSpace(text)))
	switch {
	case m == nil:
		return 0, false
	case m[1] == "noon":
		return DayEnd / 2, true
	case m[1] == "midnight":
		return 0, true
	}
	number := func(s string) int { n, _ := strconv.Atoi(s); return n } // one or two digits, or none
	hours, minutes := number(m[2]+m[4]+m[6]), number(m[3]+m[5])
	if half := m[7]; half != "" {
		if hours < 1 || hours > 12 {
			return 0, false
		}
		hours %= 12
		if half == "p" {
			hours += 12
		}
	}
	minute = hours*60 + minutes
	return minute, minutes < 60 && minute <= DayEnd
}

// ParseDay reads the spans of a day of the week: "10-18", "10:00 to 13:00 and
// 2 pm to 6 pm", "closed" or nothing. What it cannot take it refuses in the
// field of the day.
func ParseDay(day time.Weekday, text string) ([]Opening, error) {
	rest := strings.ToLower(strings.TrimSpace(text))
	var spans []Opening
	if rest == "closed" || rest == "-" || rest == "–" {
		return nil, nil
	}
	for rest != "" {
		m := spanForm.FindStringSubmatch(rest)
		if m == nil {
			return nil, fault.Field(DayField(day), "Write when it opens and closes, such as 10:00 to 18:00; or closed.")
		}
		rest = rest[len(m[0]):]
		from, fromOK := ParseClock(m[1])
		to, toOK := ParseClock(m[2])
		if !fromOK || !toOK {
			return nil, fault.Field(DayField(day), fmt.Sprintf("There is no such time in “%s”.", strings.TrimSpace(m[0])))
		}
		if to == 0 {
			to = DayEnd
		}
		spans = append(spans, Opening{day, from, to})
	}
	return spans, checkWeek(spans)
}

// DayField is the name of the field that asks for a day's hours.
func DayField(day time.Weekday) string { return strings.ToLower(day.String()) }
