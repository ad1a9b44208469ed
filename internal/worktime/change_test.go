package worktime

import (
	"testing"
	"time"
)

func TestAnotherWeekHoldsFromItsDayOn(t *testing.T) {
	day := func(s string) time.Time {
		d, err := time.Parse(time.DateOnly, s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	mondays := [7][]Span{time.Monday: {{540, 1020}}}
	c := calendar(t, time.UTC, mondays, Closure{day("2026-06-08"), Span{0, DayEnd}})
	for from, week := range map[string][7][]Span{"2026-06-03": {time.Thursday: {{600, 720}}}, "2026-06-15": {}, "2027-01-01": mondays} {
		var err error
		if c, err = c.From(day(from), week); err != nil {
			t.Fatal(err)
		}
	}
	for _, tt := range []struct{ rule, at, want string }{
		{"the first week", "2026-05-30 10:00", "2026-06-01 09:00"},
		{"the second from Wednesday on", "2026-06-01 18:00", "2026-06-04 10:00"},
		{"none for half a year, then the first again", "2026-06-11 12:00", "2027-01-04 09:00"},
	} {
		from, _, ok := c.Next(utc(t, tt.at))
		if !ok || !from.Equal(utc(t, tt.want)) {
			t.Errorf("%s: after %s it opens %s, %v; want %s", tt.rule, tt.at, from, ok, tt.want)
		}
	}
	if back, ok := c.Add(utc(t, "2027-01-04 09:00"), -time.Hour); !ok || !back.Equal(utc(t, "2026-06-11 11:00")) {
		t.Errorf("an hour before the closed half-year is %s, %v", back, ok)
	}
	if _, err := c.From(day("2026-06-03"), [7][]Span{{{700, 600}}}); err == nil {
		t.Error("a week whose span ends before it begins was taken")
	}
}
