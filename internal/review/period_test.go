package review

import (
	"errors"
	"testing"
	"time"

	"damperdesk/internal/fault"
)

func moment(t *testing.T, zone, text string) time.Time {
	t.Helper()
	m, err := time.ParseInLocation("2006-01-02 15:04", text, zoned(t, zone))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// Clocks in London go forward on 29 March and back on 25 October 2026, in New
// York on 8 March and 1 November (tz database 2025b, zdump): those weeks have
// 167 and 169 hours. Cairo skips the midnight of 24 April 2026, Havana has that
// of 1 November 2026 twice (tz database, from memory). Days and hours by hand.
func TestFullWeeks(t *testing.T) {
	for _, c := range []struct {
		zone, now string
		n         int
		from, to  string // instants in UTC
		hours     float64
	}{
		{"Europe/London", "2026-10-13 14:12", 4, "2026-09-13 23:00", "2026-10-11 23:00", 4 * 168},
		{"Europe/London", "2026-10-12 00:00", 1, "2026-10-04 23:00", "2026-10-11 23:00", 168},
		{"Europe/London", "2026-10-11 23:59", 1, "2026-09-27 23:00", "2026-10-04 23:00", 168},
		{"Europe/London", "2026-10-27 09:00", 1, "2026-10-18 23:00", "2026-10-26 00:00", 169},
		{"Europe/London", "2026-03-31 09:00", 1, "2026-03-23 00:00", "2026-03-29 23:00", 167},
		{"America/New_York", "2026-11-03 09:00", 1, "2026-10-26 04:00", "2026-11-02 05:00", 169},
		{"America/New_York", "2026-03-10 09:00", 2, "2026-02-23 05:00", "2026-03-09 04:00", 335},
		{"UTC", "2027-01-05 10:05", 1, "2026-12-28 00:00", "2027-01-04 00:00", 168},
	} {
		p := FullWeeks(c.n, moment(t, c.zone, c.now), zoned(t, c.zone))
		const layout = "2006-01-02 15:04"
		if from, to := p.From.UTC().Format(layout), p.To.UTC().Format(layout); from != c.from || to != c.to || p.To.Sub(p.From).Hours() != c.hours || p.Days() != 7*c.n {
			t.Errorf("%d weeks before %s in %s: %s to %s, %v h, %d days; want %s to %s, %v h", c.n, c.now, c.zone,
				from, to, p.To.Sub(p.From).Hours(), p.Days(), c.from, c.to, c.hours)
		}
	}
}

func TestStartOfADay(t *testing.T) {
	for _, c := range []struct {
		zone       string
		month, day int
		want       string // UTC
	}{
		{"Europe/London", 3, 29, "2026-03-29 00:00"},
		{"Africa/Cairo", 4, 24, "2026-04-23 22:00"},    // 00:00 EET becomes 01:00 EEST
		{"America/Havana", 11, 1, "2026-11-01 04:00"},  // 00:00 CDT, and again as CST
		{"Pacific/Chatham", 7, 1, "2026-06-30 11:15"},  // 12:45 ahead
		{"Asia/Kolkata", 10, 13, "2026-10-12 18:30"},   // 5:30 ahead
		{"America/Havana", 11, 31, "2026-12-01 05:00"}, // days count on
	} {
		got := startOf(2026, time.Month(c.month), c.day, zoned(t, c.zone)).UTC().Format("2006-01-02 15:04")
		if got != c.want {
			t.Errorf("%d-%d in %s begins %s UTC, want %s", c.month, c.day, c.zone, got, c.want)
		}
	}
}

// ISO 8601 as the Go standard library has it: 2026 has 53 weeks, the last from
// 28 December to 3 January 2027; 2027 begins on 4 January.
func TestWeeksAreThoseOfTheCalendar(t *testing.T) {
	zone := zoned(t, "Europe/London")
	p, err := Between(time.Date(2026, 12, 31, 0, 0, 0, 0, time.UTC), time.Date(2027, 1, 5, 0, 0, 0, 0, time.UTC), moment(t, "Europe/London", "2027-01-06 10:00"), zone)
	if err != nil {
		t.Fatal(err)
	}
	want := []struct {
		year, number int
		from         string
	}{{2026, 52, "2026-12-21"}, {2026, 53, "2026-12-28"}, {2027, 1, "2027-01-04"}}
	weeks := p.Weeks(3)
	if len(weeks) != len(want) || p.Days() != 6 {
		t.Fatalf("%d weeks of %d days, want %d of 6", len(weeks), p.Days(), len(want))
	}
	for i, w := range weeks {
		if c := want[i]; w.Year != c.year || w.Number != c.number || w.From.Format(time.DateOnly) != c.from || w.Days() != 7 {
			t.Errorf("week %d is %d of %d from %s, want %+v", i, w.Number, w.Year, w.From.Format(time.DateOnly), c)
		}
	}
	if two := p.Weeks(0); len(two) != 2 {
		t.Errorf("%d weeks, want the 2 that it touches", len(two))
	}
	if b := p.Before(); b.From.Format(time.DateOnly) != "2026-12-25" || !b.To.Equal(p.From) {
		t.Errorf("before: %v", b)
	}
	if d := p.LastDay().Format(time.DateOnly); d != "2027-01-05" {
		t.Errorf("last day %s", d)
	}
}

// The year before is as many days, over a leap day too.
func TestBeforeCountsDays(t *testing.T) {
	p := FullWeeks(52, moment(t, "Europe/London", "2024-12-25 10:00"), zoned(t, "Europe/London"))
	if b := p.Before(); b.Days() != 364 || p.Days() != 364 || b.From.Weekday() != time.Monday || b.From.Hour() != 0 {
		t.Errorf("%v of %d days, before it %v of %d", p, p.Days(), b, b.Days())
	}
}

func TestDaysThatCannotStand(t *testing.T) {
	now := moment(t, "Europe/London", "2026-10-13 14:12")
	for _, c := range []struct{ from, to, field string }{
		{"2026-10-13", "2026-10-13", ""},
		{"2024-10-13", "2026-10-13", ""}, // 731 days
		{"2026-10-12", "2026-10-11", "to"},
		{"2026-10-14", "2026-10-14", "from"},
		{"2026-10-01", "2026-10-14", "to"},
		{"2024-10-12", "2026-10-13", "from"},
		{"1900-01-01", "2026-10-13", "from"},
	} {
		from, _ := time.Parse(time.DateOnly, c.from)
		to, _ := time.Parse(time.DateOnly, c.to)
		_, err := Between(from, to, now, zoned(t, "Europe/London"))
		var invalid *fault.Invalid
		switch {
		case c.field == "" && err != nil:
			t.Errorf("%s to %s: %v", c.from, c.to, err)
		case c.field != "" && (!errors.As(err, &invalid) || invalid.Fields[c.field] == ""):
			t.Errorf("%s to %s: %v, want a sentence at %q", c.from, c.to, err, c.field)
		}
	}
}
