package worktime

import (
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"pgregory.net/rapid"

	"damperdesk/internal/vector"
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
func everyDay(spans ...Span) (week [7][]Span) {
	for d := range week {
		week[d] = spans
	}
	return week
}

func calendar(t testing.TB, zone *time.Location, week [7][]Span, closures ...Closure) Calendar {
	t.Helper()
	c, err := New(zone, week, closures)
	if err != nil {
		t.Fatal(err)
	}
	return c
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
			from, to, ok := calendar(t, zone(t, c.zone), everyDay(Span{c.from, c.to})).Next(utc(t, c.at))
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
	h := calendar(t, zone(t, "America/New_York"), [7][]Span{time.Sunday: {{150, 190}}})
	from, _, ok := h.Next(utc(t, "2026-03-08 05:30"))
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
	week := [7][]Span{time.Saturday: {{540, 780}}, time.Tuesday: {{540, 720}, {780, 1080}}, time.Wednesday: {{540, 720}, {780, 1080}}}
	h := calendar(t, london, week,
		Closure{day("2026-01-13"), Span{600, 840}},                                          // Tuesday, 10:00 to 14:00
		Closure{day("2026-01-20"), Span{0, 1440}}, Closure{day("2026-01-21"), Span{0, 720}}) // Tuesday, and Wednesday morning
	for _, c := range []struct{ rule, at, wantFrom, wantTo string }{
		{"open now", "2026-01-07 10:00", "2026-01-07 09:00", "2026-01-07 12:00"},
		{"the minute it closes it is closed", "2026-01-07 12:00", "2026-01-07 13:00", "2026-01-07 18:00"},
		{"the minute it opens it is open", "2026-01-07 13:00", "2026-01-07 13:00", "2026-01-07 18:00"},
		{"over the closed days to Saturday", "2026-01-07 18:00", "2026-01-10 09:00", "2026-01-10 13:00"},
		{"over Sunday and Monday; cut before a closure", "2026-01-10 13:30", "2026-01-13 09:00", "2026-01-13 10:00"},
		{"cut after a closure", "2026-01-13 10:00", "2026-01-13 14:00", "2026-01-13 18:00"},
		{"over a closed day and a closed morning", "2026-01-17 14:00", "2026-01-21 13:00", "2026-01-21 18:00"},
	} {
		from, to, ok := h.Next(utc(t, c.at))
		if !ok || !from.Equal(utc(t, c.wantFrom)) || !to.Equal(utc(t, c.wantTo)) {
			t.Errorf("%s: Next(%s) = %s to %s, %v; want %s to %s", c.rule, c.at, from.UTC(), to.UTC(), ok, c.wantFrom, c.wantTo)
		}
	}
}

func TestClosuresCutFromTheMiddle(t *testing.T) {
	day := time.Date(2026, 1, 13, 0, 0, 0, 0, time.UTC)
	h := calendar(t, time.UTC, everyDay(Span{540, 1020}), Closure{day, Span{600, 660}}, Closure{day, Span{720, 780}})
	got := h.Day(day)
	want := []Span{{540, 600}, {660, 720}, {780, 1020}}
	if len(got) != len(want) || got[0] != want[0] || got[1] != want[1] || got[2] != want[2] {
		t.Errorf("open %v, want %v", got, want)
	}
}

func TestShutIsTheLastClosing(t *testing.T) {
	h := calendar(t, zone(t, "Europe/London"), [7][]Span{time.Tuesday: {{540, 720}, {780, 1080}}, time.Saturday: {{540, 780}}})
	for _, c := range []struct{ rule, at, want string }{
		{"while open, that of the span before", "2026-01-06 15:00", "2026-01-06 12:00"},
		{"the minute it closes", "2026-01-06 18:00", "2026-01-06 18:00"},
		{"closed", "2026-01-08 10:00", "2026-01-06 18:00"},
		{"in the first span of a day", "2026-01-06 10:00", "2026-01-03 13:00"},
		{"after the clocks went forward", "2026-03-31 07:30", "2026-03-28 13:00"},
		{"in summer time", "2026-03-31 11:30", "2026-03-31 11:00"},
	} {
		if got, ok := h.Shut(utc(t, c.at)); !ok || !got.Equal(utc(t, c.want)) {
			t.Errorf("%s: at %s closed last at %s, %v; want %s", c.rule, c.at, got.UTC(), ok, c.want)
		}
	}
	if got, ok := (Calendar{}).Shut(utc(t, "2026-01-06 15:00")); ok {
		t.Errorf("without openings it closed at %s", got)
	}
}

func TestNextSaysWhenTheShopNeverOpens(t *testing.T) {
	for _, c := range []Calendar{{}, calendar(t, time.UTC, [7][]Span{})} {
		at := utc(t, "2026-01-07 10:00")
		if from, to, ok := c.Next(at); ok || c.OpenUntil(at) {
			t.Errorf("no openings, yet open from %s to %s", from, to)
		}
		_, ahead := c.Add(at, time.Hour)
		_, back := c.Add(at, -time.Hour)
		if ahead || back || c.Between(at, at.AddDate(1, 0, 0)) != 0 {
			t.Error("no openings, and yet it was open")
		}
	}
}

func TestNextLooksPastALongWinterBreak(t *testing.T) {
	week, closures := [7][]Span{time.Sunday: {{540, 1020}}}, []Closure(nil)
	for d := utc(t, "2026-01-04 00:00"); d.Before(utc(t, "2026-07-01 00:00")); d = d.AddDate(0, 0, 7) {
		closures = append(closures, Closure{d, Span{0, 1440}})
	}
	from, _, ok := calendar(t, time.UTC, week, closures...).Next(utc(t, "2026-01-01 10:00"))
	if want := utc(t, "2026-07-05 09:00"); !ok || !from.Equal(want) {
		t.Errorf("after the break open from %s, %v; want %s", from, ok, want)
	}
}

func TestBetween(t *testing.T) {
	for _, row := range vector.Rows(t, "worktime", "between") {
		var spans []Span
		for text := range strings.FieldsSeq(row["spans"]) {
			from, to, _ := strings.Cut(text, "-")
			span := vector.Row{"from": from, "to": to}
			spans = append(spans, Span{60 * int(span.Float(t, "from")), 60 * int(span.Float(t, "to"))})
		}
		from, errFrom := time.Parse(time.RFC3339, row["from"])
		to, errTo := time.Parse(time.RFC3339, row["to"])
		if errFrom != nil || errTo != nil {
			t.Fatal(errFrom, errTo)
		}
		c := calendar(t, zone(t, row["zone"]), everyDay(spans...))
		row.Near(t, c.Between(from, to).Hours(), nil, "hours")
	}
}

// drawn is a calendar with spans on whole hours, so that every clock time of
// theirs is the same minute by any rule for changes of the clocks.
func drawn(t *rapid.T) (Calendar, *time.Location, time.Time) {
	name := rapid.SampledFrom([]string{"Europe/London", "America/New_York", "Australia/Sydney", "Australia/Lord_Howe", "America/Santiago", "Asia/Kolkata", "UTC"}).Draw(t, "zone")
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	begin := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(0, 800).Draw(t, "day"))
	hour := func(low, high int, name string) int { return 60 * rapid.IntRange(low, high).Draw(t, name) }
	var week [7][]Span
	for d := range week {
		if rapid.IntRange(0, 3).Draw(t, "open") == 0 {
			continue
		}
		noon := hour(2, 22, "noon")
		week[d] = []Span{{hour(0, noon/60-1, "from"), noon}, {noon, hour(noon/60+1, 24, "to")}}
	}
	var closures []Closure
	for range rapid.IntRange(0, 3).Draw(t, "closures") {
		from := hour(0, 23, "shut from")
		closures = append(closures, Closure{begin.AddDate(0, 0, rapid.IntRange(-3, 8).Draw(t, "shut on")), Span{from, hour(from/60+1, 24, "shut to")}})
	}
	c, err := New(loc, week, closures)
	if err != nil {
		t.Fatal(err)
	}
	return c, loc, begin.Add(time.Duration(rapid.IntRange(0, 1439).Draw(t, "minute")) * time.Minute)
}

// open asks the local clock of one minute, without anything of the calendar but
// its spans: the oracle.
func open(c Calendar, loc *time.Location, at time.Time) bool {
	local := at.In(loc)
	minute := local.Hour()*60 + local.Minute()
	in := func(spans []Span) bool {
		for _, s := range spans {
			if minute >= s.From && minute < s.To {
				return true
			}
		}
		return false
	}
	return in(c.week[local.Weekday()]) && !in(c.shut[dateOf(local)])
}

func TestEveryMinuteAgreesWithTheClockOnTheWall(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, loc, from := drawn(t)
		to := from.Add(time.Duration(rapid.IntRange(0, 6000).Draw(t, "minutes")) * time.Minute)
		minutes := 0
		for at := from; at.Before(to); at = at.Add(time.Minute) {
			if open(c, loc, at) {
				minutes++
			}
		}
		if got := c.Between(from, to); got != time.Duration(minutes)*time.Minute {
			t.Errorf("from %s to %s open for %s, on the wall for %d min", from, to, got, minutes)
		}
	})
}

// What is added is there between; there and back is where it began, as far as
// it was open; parts add up.
func TestAddAndBetweenAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, _, at := drawn(t)
		d := time.Duration(rapid.IntRange(-6000, 6000).Draw(t, "minutes")) * time.Minute
		then, ok := c.Add(at, d)
		if !ok {
			if _, _, opens := c.Next(at); opens && d > 0 {
				t.Errorf("it opens, but never for %s", d)
			}
			return
		}
		if got := c.Between(at, then); got != d {
			t.Errorf("%s after %s is %s, between them are %s", d, at, then, got)
		}
		back, ok := c.Add(then, -d)
		if !ok || c.Between(back, at) != 0 {
			t.Errorf("%s back from %s is %s, %v; began at %s", d, then, back, ok, at)
		}
		middle := at.Add(then.Sub(at) / 3)
		if c.Between(at, middle)+c.Between(middle, then) != d {
			t.Errorf("parts do not add up at %s", middle)
		}
	})
}

func TestWhatIsNoCalendarIsRefused(t *testing.T) {
	for says, try := range map[string]func() error{
		"zone":              func() error { _, err := New(nil, [7][]Span{}, nil); return err },
		"Monday: span from": func() error { _, err := New(time.UTC, [7][]Span{1: {{600, 600}}}, nil); return err },
		"overlap":           func() error { _, err := New(time.UTC, [7][]Span{1: {{600, 700}, {660, 720}}}, nil); return err },
		"closure on 2026-01-02": func() error {
			_, err := New(time.UTC, [7][]Span{}, []Closure{{time.Date(2026, 1, 2, 0, 0, 0, 0, time.UTC), Span{0, 1441}}})
			return err
		},
	} {
		if err := try(); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%v, want %q", err, says)
		}
	}
}

func BenchmarkBetweenAYear(b *testing.B) {
	b.ReportAllocs()
	c := calendar(b, time.UTC, everyDay(Span{540, 720}, Span{780, 1080}))
	from := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	for b.Loop() {
		c.Between(from, from.AddDate(1, 0, 0))
	}
}
