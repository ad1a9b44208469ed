package interval

import (
	"math"
	"slices"
	"testing"
	"time"
)

func near(got, want float64) bool { return math.Abs(got-want) < 1e-9 }

// Every row follows from the rule and arithmetic: 2 rides of 1.5 h are 3 h a
// week, 1 ride of 2 h is 2 h a week.
func TestHoursRidden(t *testing.T) {
	since := func(day string) *time.Time {
		if day == "" {
			return nil
		}
		d := on(t, day)
		return &d
	}
	habit := func(at, from string, rides, each float64) Reading {
		return Reading{Kind: Habit, RidesAWeek: rides, HoursARide: each, Since: since(from), At: on(t, at)}
	}
	stated := func(at, from string, hours float64) Reading {
		return Reading{Kind: Stated, Hours: hours, Since: since(from), At: on(t, at)}
	}
	for _, c := range []struct {
		name     string
		said     []Reading
		from, to string
		hours    float64
		gap      int
	}{
		{"nothing said", nil, "2026-03-02", "2026-05-11", 0, 70},
		{"no time at all, nothing said", nil, "2026-03-02", "2026-03-02", 0, 0},
		{"habit by weeks", []Reading{habit("2026-03-02", "", 2, 1.5)}, "2026-03-02", "2026-05-11", 30, 0},
		{"habit said later holds for before", []Reading{habit("2026-05-11", "", 2, 1.5)}, "2026-03-02", "2026-05-11", 30, 0},
		{"habit with its day does not", []Reading{habit("2026-05-11", "2026-04-27", 2, 1.5)}, "2026-03-02", "2026-05-11", 6, 56},
		{"habit that changed", []Reading{habit("2026-03-02", "", 2, 1.5), habit("2026-04-20", "", 1, 2)}, "2026-03-02", "2026-05-11", 21 + 6, 0},
		{"habits said out of order", []Reading{habit("2026-05-11", "2026-04-20", 1, 2), habit("2026-03-02", "", 2, 1.5)}, "2026-03-02", "2026-05-11", 27, 0},
		{"a habit that begins after", []Reading{habit("2026-03-02", "", 2, 1.5), habit("2026-06-01", "", 9, 9)}, "2026-03-02", "2026-05-11", 30, 0},
		{"stated", []Reading{stated("2026-05-11", "2026-03-02", 42)}, "2026-03-02", "2026-05-11", 42, 0},
		{"the newest stated", []Reading{stated("2026-05-11", "2026-03-02", 42), stated("2026-04-01", "2026-03-02", 17)}, "2026-03-02", "2026-05-11", 42, 0},
		{"stated, then the habit", []Reading{stated("2026-04-20", "2026-03-02", 40), habit("2026-04-20", "", 2, 1.5)}, "2026-03-02", "2026-05-11", 49, 0},
		{"stated, then nothing", []Reading{stated("2026-04-12", "2026-03-02", 40)}, "2026-03-02", "2026-05-11", 40, 29},
		{"stated, then nothing for four weeks", []Reading{stated("2026-04-13", "2026-03-02", 40)}, "2026-03-02", "2026-05-11", 40, 28},
		{"stated before the service", []Reading{stated("2026-03-02", "2025-03-02", 90)}, "2026-03-02", "2026-05-11", 0, 70},
		{"stated after the day", []Reading{stated("2026-05-12", "2026-03-02", 90)}, "2026-03-02", "2026-05-11", 0, 70},
		{"stated since a later service, with one before it",
			[]Reading{stated("2026-04-06", "2026-03-02", 15), stated("2026-05-11", "2026-04-06", 10)}, "2026-03-02", "2026-05-11", 25, 0},
		{"stated since a later service, habit before it",
			[]Reading{habit("2026-03-01", "", 2, 1.5), stated("2026-05-11", "2026-04-06", 10)}, "2026-03-02", "2026-05-11", 25, 0},
		{"stated since a later service, nothing before it", []Reading{stated("2026-05-11", "2026-04-06", 10)}, "2026-03-02", "2026-05-11", 10, 35},
		{"stated since before the service, by the share of its days",
			[]Reading{stated("2026-05-11", "2026-02-02", 49)}, "2026-03-02", "2026-05-11", 35, 0},
		{"stated since nobody knows when", []Reading{stated("2026-05-11", "", 33)}, "2026-03-02", "2026-05-11", 33, 0},
		{"stated of the same day", []Reading{stated("2026-05-11", "2026-05-11", 2), habit("2026-03-02", "", 2, 1.5)}, "2026-03-02", "2026-05-11", 2 + 3.0*69/7, 0},
		{"a leap day counts", []Reading{habit("2028-02-01", "", 7, 1)}, "2028-02-28", "2028-03-01", 2, 0},
	} {
		got := NewLog(c.said, time.UTC, Riding{}).Ridden(on(t, c.from), on(t, c.to))
		if !near(got.Hours, c.hours) || got.Gap != c.gap {
			t.Errorf("%s: got %+v; want %v h, a gap of %d days", c.name, got, c.hours, c.gap)
		}
	}
}

// London's clocks went forward on 29 March 2026 (tzdata): the week has 167
// hours and seven days.
func TestAWeekWithAChangeOfTheClocksIsAWeek(t *testing.T) {
	zone, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	said := time.Date(2026, 3, 20, 23, 30, 0, 0, zone)
	log := NewLog([]Reading{{Kind: Habit, RidesAWeek: 2, HoursARide: 1.5, At: said}}, zone, Riding{})
	from := Day(time.Date(2026, 3, 26, 23, 30, 0, 0, zone), zone)
	to := Day(time.Date(2026, 4, 2, 0, 30, 0, 0, zone), zone)
	if got := log.Ridden(from, to); !near(got.Hours, 3) || got.Gap != 0 {
		t.Errorf("got %+v, want 3 h", got)
	}
}

func TestHowLongARideIs(t *testing.T) {
	for text, want := range map[string]float64{
		"90": 1.5, "13": 13.0 / 60, "12": 12, "1.5": 1.5, "1,5": 1.5, "2": 2, "90 min": 1.5, "90min": 1.5, "45 minutes": 0.75,
		"1:30": 1.5, "1 h 30": 1.5, "1h30": 1.5, "1 h 30 min": 1.5, "2 h": 2, "1.5 h": 1.5, "2 hours": 2, "0:40": 40.0 / 60, " 70 min ": 70.0 / 60,
	} {
		if got, err := ParseRide(text); err != nil || !near(got, want) {
			t.Errorf("%q: got %v, %v; want %v h", text, got, err, want)
		}
	}
	for _, text := range []string{"", "often", "1:75", "1:30:00", "3 laps", "1:", "h", "--2", "1;30"} {
		if got, err := ParseRide(text); err == nil {
			t.Errorf("%q: got %v, want it refused", text, got)
		}
	}
}

func TestADayThatIsSaidIsNoSlipOfTheYear(t *testing.T) {
	today := time.Date(2026, 10, 13, 0, 0, 0, 0, time.UTC)
	for day, says := range map[string]string{
		"2026-10-13": "", "1996-10-13": "", "1996-10-12": "That is more than 30 years ago: check the year.",
		"0001-01-01": "That is more than 30 years ago: check the year.", "2026-10-14": "That day is still to come.",
	} {
		since, err := time.Parse(time.DateOnly, day)
		if err != nil {
			t.Fatal(err)
		}
		if got := (Said{HoursSince: &since}).Check(today)["since"]; got != says {
			t.Errorf("%s: %q, want %q", day, got, says)
		}
	}
}

// The share of a span that is cut is that of its days.
func TestSpansThatWereCounted(t *testing.T) {
	stated := func(at, from string, hours float64) Reading {
		r := Reading{Kind: Stated, Hours: hours, At: on(t, at)}
		if from != "" {
			since := on(t, from)
			r.Since = &since
		}
		return r
	}
	for _, c := range []struct {
		name string
		said []Reading
		want []Span
	}{
		{"nothing", nil, nil},
		{"since a day nobody knows", []Reading{stated("2026-05-11", "", 30)}, nil},
		{"one", []Reading{stated("2026-05-11", "2026-03-02", 30)}, []Span{{on(t, "2026-03-02"), on(t, "2026-05-11"), 30, 30}}},
		{"one cut by a newer one", []Reading{stated("2026-05-11", "2026-05-01", 4), stated("2026-05-21", "2026-05-06", 9)},
			[]Span{{on(t, "2026-05-01"), on(t, "2026-05-06"), 2, 2}, {on(t, "2026-05-06"), on(t, "2026-05-21"), 9, 9}}},
		{"one covered by a newer one", []Reading{stated("2026-05-11", "2026-05-01", 4), stated("2026-05-21", "2026-04-01", 9)},
			[]Span{{on(t, "2026-04-01"), on(t, "2026-05-21"), 9, 9}}},
	} {
		got := NewLog(c.said, time.UTC, Riding{}).Spans()
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", c.name, got, c.want)
		}
	}
}

// A habit is its rider's: it ends on the day the unit goes to another, and the
// next one's begins there.
func TestAHabitEndsWithItsRider(t *testing.T) {
	habit := func(at string, rides float64) Reading {
		return Reading{Kind: Habit, RidesAWeek: rides, HoursARide: 1, At: on(t, at)}
	}
	hours := func(r Reading, hour int) Reading {
		r.At = r.At.Truncate(24 * time.Hour).Add(time.Duration(hour) * time.Hour)
		return r
	}
	from, sold, to := on(t, "2026-03-02"), on(t, "2026-03-30"), on(t, "2026-05-11")
	for _, c := range []struct {
		name  string
		said  []Reading
		hours float64
		gap   int
		known bool
	}{
		{"said before", []Reading{habit("2026-03-09", 2)}, 8, 42, false},
		{"said by both", []Reading{habit("2026-03-09", 2), habit("2026-05-04", 1)}, 8 + 6, 0, true},
		{"said after", []Reading{habit("2026-05-04", 1)}, 6, 28, true},
		{"said on the day, before", []Reading{hours(habit("2026-03-30", 2), 9)}, 8, 42, false},
		{"said on the day, after", []Reading{hours(habit("2026-03-30", 1), 15)}, 6, 28, true},
		{"said on the day by both", []Reading{hours(habit("2026-03-30", 2), 9), hours(habit("2026-03-30", 1), 15)}, 8 + 6, 0, true},
	} {
		l := NewLog(c.said, time.UTC, Riding{Before: []Owner{{Until: sold, UntilAt: sold.Truncate(24 * time.Hour).Add(12 * time.Hour)}}})
		r := l.Ridden(from, to)
		if !near(r.Plain, c.hours) || r.Gap != c.gap || l.Known() != c.known {
			t.Errorf("%s: got %v h with %d days unknown, known %v; want %v h, %d days, %v", c.name, r.Plain, r.Gap, l.Known(), c.hours, c.gap, c.known)
		}
	}
}
