package shop

import (
	"testing"
	"time"
	_ "time/tzdata"
)

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

func utc(t *testing.T, s string) time.Time {
	t.Helper()
	at, err := time.Parse("2006-01-02 15:04", s)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// everyDay is open from and to the same minutes on all seven days.
func everyDay(from, to int) []Opening {
	var week []Opening
	for d := time.Sunday; d <= time.Saturday; d++ {
		week = append(week, Opening{d, from, to})
	}
	return week
}

// The instants of the changes are those of zdump with tzdata 2025b: London
// 2026-03-29 01:00Z and 2026-10-25 01:00Z, New York 2026-03-08 07:00Z and
// 2026-11-01 06:00Z, Sydney 2026-04-04 16:00Z and 2026-10-03 16:00Z, Santiago
// 2026-04-05 03:00Z and 2026-09-06 04:00Z (both at local midnight).
func TestSpansFollowTheLocalClock(t *testing.T) {
	for _, c := range []struct {
		name, zone       string
		from, to         int
		at               string
		wantFrom, wantTo string
	}{
		{"day before London springs forward", "Europe/London", 540, 1020, "2026-03-28 05:00", "2026-03-28 09:00", "2026-03-28 17:00"},
		{"09:00 to 17:00 stays 8 h on the 23 h day", "Europe/London", 540, 1020, "2026-03-29 00:30", "2026-03-29 08:00", "2026-03-29 16:00"},
		{"09:00 to 17:00 stays 8 h on the 25 h day", "Europe/London", 540, 1020, "2026-10-25 00:30", "2026-10-25 09:00", "2026-10-25 17:00"},
		{"the whole 23 h day", "Europe/London", 0, 1440, "2026-03-29 12:00", "2026-03-29 00:00", "2026-03-29 23:00"},
		{"the whole 25 h day", "Europe/London", 0, 1440, "2026-10-25 12:00", "2026-10-24 23:00", "2026-10-26 00:00"},
		{"after 22:00 on the evening before", "Europe/London", 1320, 1440, "2026-03-28 22:30", "2026-03-28 22:00", "2026-03-29 00:00"},
		{"New York, 23 h day", "America/New_York", 540, 1020, "2026-03-08 06:00", "2026-03-08 13:00", "2026-03-08 21:00"},
		{"New York, 25 h day", "America/New_York", 540, 1020, "2026-11-01 06:30", "2026-11-01 14:00", "2026-11-01 22:00"},
		{"Sydney leaves summer time in April", "Australia/Sydney", 540, 1020, "2026-04-04 17:00", "2026-04-04 23:00", "2026-04-05 07:00"},
		{"Sydney takes up summer time in October", "Australia/Sydney", 540, 1020, "2026-10-03 17:00", "2026-10-03 22:00", "2026-10-04 06:00"},
		{"a midnight that does not exist begins the day an hour later", "America/Santiago", 0, 1440, "2026-09-06 12:00", "2026-09-06 04:00", "2026-09-07 03:00"},
		{"the day before ends where the clocks change", "America/Santiago", 0, 1440, "2026-09-06 03:59", "2026-09-05 04:00", "2026-09-06 04:00"},
		{"a day whose last hour comes twice", "America/Santiago", 0, 1440, "2026-04-05 03:30", "2026-04-04 03:00", "2026-04-05 04:00"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := Hours{Openings: everyDay(c.from, c.to)}
			from, to, ok := h.Next(utc(t, c.at), zone(t, c.zone))
			if !ok || !from.Equal(utc(t, c.wantFrom)) || !to.Equal(utc(t, c.wantTo)) {
				t.Errorf("Next(%sZ) = %s to %s, %v; want %sZ to %sZ", c.at, from.UTC(), to.UTC(), ok, c.wantFrom, c.wantTo)
			}
		})
	}
}

// RFC 5545, section 3.3.5: a local time that does not exist has the offset
// before the gap; one that comes twice is the first. The dates are its own.
func TestSkippedAndRepeatedClockTimes(t *testing.T) {
	loc := zone(t, "America/New_York")
	for _, c := range []struct {
		day, clock string
		minute     int
		want       string
	}{
		{"2007-03-11", "02:30", 150, "2007-03-11T03:30:00-04:00"},
		{"2007-11-04", "01:30", 90, "2007-11-04T01:30:00-04:00"},
		{"2007-11-04", "02:00", 120, "2007-11-04T02:00:00-05:00"},
	} {
		day, err := time.Parse(time.DateOnly, c.day)
		if err != nil {
			t.Fatal(err)
		}
		if got := onClock(day, c.minute, loc).Format(time.RFC3339); got != c.want {
			t.Errorf("%s %s in New York is %s, want %s", c.day, c.clock, got, c.want)
		}
	}
}

func TestNextPassesOverASpanThatAChangeLeavesEmpty(t *testing.T) {
	// 02:30 is skipped on 2026-03-08 and counts as 03:30, after 03:10.
	h := Hours{Openings: []Opening{{time.Sunday, 150, 190}}}
	from, _, ok := h.Next(utc(t, "2026-03-08 05:30"), zone(t, "America/New_York"))
	if want := utc(t, "2026-03-15 06:30"); !ok || !from.Equal(want) {
		t.Errorf("next opening at %s, %v; want %s", from.UTC(), ok, want)
	}
}

func TestNextMindsClosuresAndHalfDays(t *testing.T) {
	london := zone(t, "Europe/London")
	day := func(s string) time.Time {
		d, err := time.Parse(time.DateOnly, s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	// Closed on Sunday and Monday, a midday break, a short Saturday.
	week := []Opening{
		{time.Saturday, 540, 780},
		{time.Tuesday, 540, 720}, {time.Tuesday, 780, 1080},
		{time.Wednesday, 540, 720}, {time.Wednesday, 780, 1080},
	}
	h := Hours{Openings: week, Closures: []Closure{
		{day("2026-01-13"), 600, 840},                             // Tuesday, 10:00 to 14:00
		{day("2026-01-20"), 0, 1440}, {day("2026-01-21"), 0, 720}, // Tuesday, and Wednesday morning
	}}
	for _, c := range []struct{ rule, at, wantFrom, wantTo string }{
		{"open now", "2026-01-07 10:00", "2026-01-07 09:00", "2026-01-07 12:00"},
		{"the minute it closes it is closed", "2026-01-07 12:00", "2026-01-07 13:00", "2026-01-07 18:00"},
		{"the minute it opens it is open", "2026-01-07 13:00", "2026-01-07 13:00", "2026-01-07 18:00"},
		{"over the closed days to Saturday", "2026-01-07 18:00", "2026-01-10 09:00", "2026-01-10 13:00"},
		{"over Sunday and Monday; cut before a closure", "2026-01-10 13:30", "2026-01-13 09:00", "2026-01-13 10:00"},
		{"cut after a closure", "2026-01-13 10:00", "2026-01-13 14:00", "2026-01-13 18:00"},
		{"over a closed day and a closed morning", "2026-01-17 14:00", "2026-01-21 13:00", "2026-01-21 18:00"},
	} {
		from, to, ok := h.Next(utc(t, c.at), london)
		if !ok || !from.Equal(utc(t, c.wantFrom)) || !to.Equal(utc(t, c.wantTo)) {
			t.Errorf("%s: Next(%s) = %s to %s, %v; want %s to %s", c.rule, c.at, from.UTC(), to.UTC(), ok, c.wantFrom, c.wantTo)
		}
	}
}

func TestClosuresCutFromTheMiddle(t *testing.T) {
	day := time.Date(2026, 1, 13, 0, 0, 0, 0, time.UTC)
	h := Hours{Openings: everyDay(540, 1020), Closures: []Closure{{day, 600, 660}, {day, 720, 780}}}
	got := h.spans(day)
	want := []span{{540, 600}, {660, 720}, {780, 1020}}
	if len(got) != len(want) || got[0] != want[0] || got[1] != want[1] || got[2] != want[2] {
		t.Errorf("open %v, want %v", got, want)
	}
}

func TestNextSaysWhenTheShopNeverOpens(t *testing.T) {
	if from, to, ok := (Hours{}).Next(utc(t, "2026-01-07 10:00"), time.UTC); ok {
		t.Errorf("no openings, yet open from %s to %s", from, to)
	}
}

func TestNextLooksPastALongWinterBreak(t *testing.T) {
	h := Hours{Openings: everyDay(540, 1020)[:1]} // Sundays only
	for d := utc(t, "2026-01-04 00:00"); d.Before(utc(t, "2026-07-01 00:00")); d = d.AddDate(0, 0, 7) {
		h.Closures = append(h.Closures, Closure{d, 0, 1440})
	}
	from, _, ok := h.Next(utc(t, "2026-01-01 10:00"), time.UTC)
	if want := utc(t, "2026-07-05 09:00"); !ok || !from.Equal(want) {
		t.Errorf("after the break open from %s, %v; want %s", from, ok, want)
	}
}
