package interval

import (
	"fmt"
	"testing"
	"time"
)

func TestTheSeasonOfEachHemisphere(t *testing.T) {
	// 1 March to 31 October in the north, half a year later in the south:
	// common practice (no source).
	for _, c := range []struct{ hemisphere, day, end, start string }{
		{"north", "2026-06-10", "2026-10-31", "2027-03-01"},
		{"north", "2026-10-30", "2026-10-31", "2027-03-01"},
		{"north", "2026-10-31", "2027-10-31", "2028-03-01"},
		{"north", "2026-12-24", "2027-10-31", "2028-03-01"},
		{"north", "2028-02-29", "2028-10-31", "2029-03-01"},
		{"south", "2026-06-10", "2027-04-30", "2027-09-01"},
		{"south", "2026-12-24", "2027-04-30", "2027-09-01"},
		{"south", "2027-04-29", "2027-04-30", "2027-09-01"},
		{"south", "2028-02-29", "2028-04-30", "2028-09-01"},
	} {
		end, start := SeasonOf(c.hemisphere).After(on(t, c.day))
		if got, want := end.Format(time.DateOnly)+" "+start.Format(time.DateOnly), c.end+" "+c.start; got != want {
			t.Errorf("%s, after %s: got %s, want %s", c.hemisphere, c.day, got, want)
		}
	}
}

// A day is the shop's. Offsets: tzdata, London on summer time (UTC+1) from 29
// March to 25 October 2026, Auckland UTC+13 in January, Los Angeles UTC-8.
func TestADayIsTheShops(t *testing.T) {
	for _, c := range []struct{ at, zone, want string }{
		{"2026-06-30T23:30:00Z", "Europe/London", "2026-07-01"},
		{"2026-01-30T23:30:00Z", "Europe/London", "2026-01-30"},
		{"2026-01-30T11:30:00Z", "Pacific/Auckland", "2026-01-31"},
		{"2026-02-01T07:30:00Z", "America/Los_Angeles", "2026-01-31"},
	} {
		at, err := time.Parse(time.RFC3339, c.at)
		if err != nil {
			t.Fatal(err)
		}
		zone, err := time.LoadLocation(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		if got := Day(at, zone).Format(time.DateOnly); got != c.want {
			t.Errorf("%s in %s is on %s, want %s", c.at, c.zone, got, c.want)
		}
	}
}

// The months clamp as in TestAddMonthsStaysInTheMonth; the season dates are
// those of TestTheSeasonOfEachHemisphere.
func TestDatesOfARule(t *testing.T) {
	for _, c := range []struct {
		name, hemisphere string
		rule             Rule
		done, want       string
	}{
		{"a month from the end of January", "north", Rule{Months: 1}, "2026-01-31", "[months 2026-02-28 late 2026-03-28]"},
		{"a year from a leap day", "north", Rule{Months: 12}, "2024-02-29", "[months 2025-02-28 late 2025-03-28]"},
		{"four years from a leap day", "north", Rule{Months: 48}, "2024-02-29", "[months 2028-02-29 late 2028-03-28]"},
		{"only hours", "north", Rule{Hours: 50}, "2026-01-31", "[]"},
		{"in the season", "north", Rule{Season: true}, "2026-06-10", "[season 2026-10-31 late 2027-03-01]"},
		{"in the off-season", "north", Rule{Season: true}, "2026-12-10", "[season 2027-10-31 late 2028-03-01]"},
		{"before soon begins", "north", Rule{Season: true}, "2026-10-02", "[season 2026-10-31 late 2027-03-01]"},
		{"once soon has begun", "north", Rule{Season: true}, "2026-10-03", "[season 2027-10-31 late 2028-03-01]"},
		{"in the southern season", "south", Rule{Season: true}, "2026-12-10", "[season 2027-04-30 late 2027-09-01]"},
		{"in the southern off-season", "south", Rule{Season: true}, "2026-06-10", "[season 2027-04-30 late 2027-09-01]"},
		{"months first", "north", Rule{Months: 3, Season: true}, "2026-06-10", "[months 2026-09-10 late 2026-10-08 season 2026-10-31 late 2027-03-01]"},
		{"season first", "north", Rule{Months: 12, Season: true}, "2026-06-10", "[season 2026-10-31 late 2027-03-01 months 2027-06-10 late 2027-07-08]"},
	} {
		var words []string
		for _, d := range c.rule.Dates(on(t, c.done), SeasonOf(c.hemisphere)) {
			words = append(words, string(d.By)+" "+d.On.Format(time.DateOnly)+" late "+d.Late.Format(time.DateOnly))
		}
		if got := fmt.Sprint(words); got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
	}
}

// Two rides a week of an hour and a half are 3 h a week, so 30 h in ten weeks:
// arithmetic. What begins when: the doc comment of State, common practice (no
// source).
func TestHowAServiceStands(t *testing.T) {
	const done, ten = "2026-03-02", "2026-05-11" // ten weeks apart
	habit := func(rides, each float64) Reading {
		return Reading{Kind: Habit, RidesAWeek: rides, HoursARide: each, At: on(t, done)}
	}
	stated := func(day string, hours float64) Reading {
		since := on(t, done)
		return Reading{Kind: Stated, Hours: hours, Since: &since, At: on(t, day)}
	}
	lowers := Rule{Hours: 50, Months: 12}
	for _, c := range []struct {
		name  string
		rule  Rule
		said  []Reading
		today string
		state State
		by    By
	}{
		{"no hours known, the year far from over", lowers, nil, ten, Unknown, ByMonths},
		{"no hours known, four weeks and a day before the year is over", lowers, nil, "2027-02-01", Unknown, ByMonths},
		{"no hours known, four weeks before", lowers, nil, "2027-02-02", Soon, ByMonths},
		{"the day before the year is over", lowers, nil, "2027-03-01", Soon, ByMonths},
		{"the day the year is over", lowers, nil, "2027-03-02", Due, ByMonths},
		{"a day less than four weeks after it", lowers, nil, "2027-03-29", Due, ByMonths},
		{"four weeks after it", lowers, nil, "2027-03-30", Overdue, ByMonths},
		{"30 of 50 h by habit", lowers, []Reading{habit(2, 1.5)}, ten, Fine, ByHours},
		{"39.9 h", lowers, []Reading{stated(ten, 39.9)}, ten, Fine, ByHours},
		{"40 h, the last fifth begins", lowers, []Reading{stated(ten, 40)}, ten, Soon, ByHours},
		{"50 h", lowers, []Reading{stated(ten, 50)}, ten, Due, ByHours},
		{"59.9 h", lowers, []Reading{stated(ten, 59.9)}, ten, Due, ByHours},
		{"60 h, a fifth over", lowers, []Reading{stated(ten, 60)}, ten, Overdue, ByHours},
		{"20 h in 30 days, which 40 days later are 46.7 h", lowers, []Reading{stated("2026-04-01", 20)}, ten, Soon, ByHours},
		{"50 h in 30 days, and 40 days more", lowers, []Reading{stated("2026-04-01", 50)}, ten, Overdue, ByHours},
		{"20 h in 42 days, which four weeks later are 33 h", lowers, []Reading{stated("2026-04-13", 20)}, ten, Fine, ByHours},
		{"hours enough, date far", lowers, []Reading{habit(5, 1.5)}, ten, Overdue, ByHours},
		{"the later of two as far along", lowers, []Reading{habit(0, 0)}, "2027-02-10", Soon, ByMonths},
		{"not ridden at all", lowers, []Reading{habit(0, 0)}, ten, Fine, ByMonths},
		{"only months", Rule{Months: 12}, nil, ten, Fine, ByMonths},
		{"only hours that nobody knows", Rule{Hours: 50}, nil, "2036-03-02", Unknown, ""},
		{"season, five weeks before its end", Rule{Season: true}, nil, "2026-09-26", Fine, BySeason},
		{"season, four weeks before its end", Rule{Season: true}, nil, "2026-10-03", Soon, BySeason},
		{"season, its last day", Rule{Season: true}, nil, "2026-10-31", Due, BySeason},
		{"season, the off-season", Rule{Season: true}, nil, "2027-02-28", Due, BySeason},
		{"season, the next one has begun", Rule{Season: true}, nil, "2027-03-01", Overdue, BySeason},
		{"the earlier of two dates", Rule{Months: 8, Season: true}, nil, "2026-11-03", Due, BySeason},
	} {
		day := on(t, done)
		got := c.rule.Outlook(Facts{&Served{Ready: day, Left: day}, NewLog(c.said, time.UTC, Riding{}), SeasonOf("north"), Shipped(SeasonOf("north")), nil})
		if state := got.State(on(t, c.today)); state != c.state || got.By != c.by {
			t.Errorf("%s: got %s by %q (%+v), want %s by %q", c.name, state, got.By, got, c.state, c.by)
		}
	}
	if got := lowers.Outlook(Facts{Season: SeasonOf("north")}); got.State(on(t, ten)) != Unknown || got.By != "" {
		t.Errorf("never done here: got %s by %q, want unknown", got.State(on(t, ten)), got.By)
	}
}

// Months count from the day it was ready, hours from the day it left.
func TestAUnitIsNotRiddenOnTheHook(t *testing.T) {
	served := Served{Ready: on(t, "2026-03-02"), Left: on(t, "2026-03-30")}
	log := NewLog([]Reading{{Kind: Habit, RidesAWeek: 2, HoursARide: 1.5, At: on(t, "2026-03-01")}}, time.UTC, Riding{})
	got := Rule{Hours: 50, Months: 6}.Outlook(Facts{&served, log, SeasonOf("north"), Shipped(SeasonOf("north")), nil})
	if want := on(t, "2026-03-30"); !got.Counted.Equal(want) {
		t.Errorf("hours count from %v, want %v", got.Counted, want)
	}
	if on := got.Dates[0].On.Format(time.DateOnly); on != "2026-09-02" {
		t.Errorf("the months end on %s, want 2026-09-02", on)
	}
}
