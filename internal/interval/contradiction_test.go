package interval

import (
	"testing"
	"time"
)

// Which reading counts is the rule of better, what is apart that of disagree:
// both are ours. The hours are arithmetic: 3 h a week are 30 h in ten weeks.
func TestReadingsThatDoNotAgree(t *testing.T) {
	stated := func(id int64, at, since string, hours float64, source string) Reading {
		return Reading{ID: id, Kind: Stated, Hours: hours, Since: on2(t, since), At: on(t, at), Source: source}
	}
	meter := func(id int64, day string, shows float64) Reading {
		return Reading{ID: id, Kind: Meter, Hours: shows, OnDay: on2(t, day), At: on(t, day), Source: "bike computer"}
	}
	habit := Reading{ID: 9, Kind: Habit, RidesAWeek: 2, HoursARide: 1.5, At: on(t, "2026-03-02")}
	for _, c := range []struct {
		name          string
		said          []Reading
		counts, other int64 // 0: they agree
		hours, others float64
		why           Why
	}{
		{"nothing", nil, 0, 0, 0, 0, ""},
		{"a habit and hours that fit", []Reading{habit, stated(1, "2026-05-11", "2026-03-02", 33, "rider")}, 0, 0, 0, 0, ""},
		{"a quarter apart and no more", []Reading{habit, stated(1, "2026-05-11", "2026-03-02", 40, "rider")}, 0, 0, 0, 0, ""},
		{"more than a quarter apart", []Reading{habit, stated(1, "2026-05-11", "2026-03-02", 40.1, "rider")}, 1, 9, 40.1, 30, WhyKind},
		{"twice as much, but five hours", []Reading{stated(1, "2026-05-11", "2026-03-02", 10, "rider"), stated(2, "2026-05-11", "2026-03-02", 5, "rider")}, 0, 0, 0, 0, ""},
		{"of one kind the newer", []Reading{stated(1, "2026-05-11", "2026-03-02", 40, "rider"), stated(2, "2026-05-11", "2026-03-02", 20, "rider")}, 2, 1, 20, 40, WhyNewer},
		{"a bike computer before a newer word", []Reading{stated(1, "2026-05-11", "2026-03-02", 40, "bike computer"), stated(2, "2026-05-11", "2026-03-02", 20, "rider")}, 1, 2, 40, 20, WhySource},
		{"the rider before our newer estimate", []Reading{stated(1, "2026-05-11", "2026-03-02", 40, "rider"), stated(2, "2026-05-11", "2026-03-02", 20, "our estimate")}, 1, 2, 40, 20, WhySource},
		{"a meter before what is stated", []Reading{meter(3, "2026-03-02", 400), meter(4, "2026-05-11", 430), stated(1, "2026-05-11", "2026-03-02", 50, "bike computer")}, 4, 1, 30, 50, WhyKind},
		{"by the days that both speak of", []Reading{stated(1, "2026-04-06", "2026-03-02", 35, "rider"), stated(2, "2026-05-11", "2026-03-02", 40, "rider")}, 2, 1, 20, 35, WhyNewer},
		{"one after the other", []Reading{stated(1, "2026-04-06", "2026-03-02", 35, "rider"), stated(2, "2026-05-11", "2026-04-06", 2, "rider")}, 0, 0, 0, 0, ""},
		{"a habit that begins after", []Reading{stated(1, "2026-04-06", "2026-03-02", 55, "rider"), {ID: 9, Kind: Habit, Since: on2(t, "2026-04-06"), At: on(t, "2026-04-06")}}, 0, 0, 0, 0, ""},
	} {
		list := NewLog(c.said, time.UTC, Riding{}).Contradictions()
		if c.counts == 0 {
			if len(list) != 0 {
				t.Errorf("%s: got %+v, want none", c.name, list)
			}
			continue
		}
		if len(list) != 1 {
			t.Errorf("%s: got %d contradictions, want one", c.name, len(list))
			continue
		}
		got := list[0]
		if got.Counts.ID != c.counts || got.Other.ID != c.other || !near(got.CountsHours, c.hours) || !near(got.OtherHours, c.others) || got.Why != c.why {
			t.Errorf("%s: got %+v, want %d with %v h before %d with %v h, by %s", c.name, got, c.counts, c.hours, c.other, c.others, c.why)
		}
	}
}

// What counts is what Ridden counts with.
func TestTheBetterReadingIsTheOneThatCounts(t *testing.T) {
	since := on2(t, "2026-03-02")
	log := NewLog([]Reading{
		{Kind: Stated, Hours: 40, Since: since, At: on(t, "2026-04-06"), Source: "bike computer"},
		{Kind: Stated, Hours: 20, Since: since, At: on(t, "2026-05-11"), Source: "rider"},
	}, time.UTC, Riding{})
	if got := log.Ridden(*since, on(t, "2026-05-11")); !near(got.Hours, 50) || got.Gap != 0 {
		t.Errorf("got %+v; want 40 h of the first five weeks, and half of the 20 h", got)
	}
	spans := log.Spans()
	if len(spans) != 2 || !near(spans[0].Hours, 40) || !near(spans[1].Hours, 10) || !spans[1].From.Equal(on(t, "2026-04-06")) {
		t.Errorf("spans %v, want 40 h and then 10 h", spans)
	}
}
