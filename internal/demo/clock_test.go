package demo

import (
	"testing"
	"time"
)

// The week is Tuesday to Friday 10 to 18, Saturday 9 to 14. Expected moments
// are counted by hand; clocks go forward on 29 March 2026 (Directive
// 2000/84/EC as the United Kingdom keeps it: the last Sunday of March).
func TestClockCountsOpeningTime(t *testing.T) {
	const layout = "2006-01-02 15:04"
	for _, c := range []struct{ now, back, before, ahead, after string }{
		{"2026-10-13 14:12", "1h", "2026-10-13 13:12", "1h", "2026-10-13 15:12"},
		{"2026-10-13 14:12", "5h", "2026-10-10 13:12", "4h", "2026-10-14 10:12"},  // Tuesday to Saturday; to Wednesday
		{"2026-10-17 14:30", "30m", "2026-10-17 13:30", "1h", "2026-10-20 11:00"}, // Saturday, closed
		{"2026-10-18 03:00", "6h", "2026-10-16 17:00", "30m", "2026-10-20 10:30"}, // Sunday night
		{"2026-03-31 10:30", "1h", "2026-03-28 13:30", "8h", "2026-04-01 10:30"},  // over the change of the clocks
	} {
		now := at(t, layout, c.now)
		k := newClock(week, now, zone)
		for _, got := range []struct {
			what string
			t    time.Time
			want string
		}{
			{c.back + " before", k.before(lasting(t, c.back)), c.before},
			{c.ahead + " after", k.after(lasting(t, c.ahead)), c.after},
		} {
			if s := got.t.In(zone).Format(layout); s != got.want {
				t.Errorf("%s %s: %s, want %s", got.what, c.now, s, got.want)
			}
		}
	}
}

func TestClockNamesOpeningDays(t *testing.T) {
	for _, c := range []struct {
		now     string
		n, hour int
		want    string
	}{
		{"2026-10-13 14:12", 0, 17, "2026-10-13 17:00"},
		{"2026-10-13 14:12", -1, 17, "2026-10-10 14:00"}, // Saturday closes at two
		{"2026-10-13 14:12", 4, 12, "2026-10-17 12:00"},
		{"2026-10-17 14:30", 0, 11, "2026-10-20 11:00"}, // closed for the day
		{"2026-10-17 14:30", -1, 17, "2026-10-17 14:00"},
	} {
		k := newClock(week, at(t, "2006-01-02 15:04", c.now), zone)
		if got := k.day(c.n, c.hour).In(zone).Format("2006-01-02 15:04"); got != c.want {
			t.Errorf("%s, day %d, %d h: %s, want %s", c.now, c.n, c.hour, got, c.want)
		}
	}
}

func at(t *testing.T, layout, text string) time.Time {
	t.Helper()
	moment, err := time.ParseInLocation(layout, text, zone)
	if err != nil {
		t.Fatal(err)
	}
	return moment
}

func lasting(t *testing.T, text string) time.Duration {
	t.Helper()
	d, err := time.ParseDuration(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}
