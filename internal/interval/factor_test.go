package interval

import (
	"testing"
	"time"
)

// shopFactors are those that are shipped.
func shopFactors() Factors {
	f := Factors{}
	for _, one := range shippedFactors {
		f[one.Kind] = one
	}
	return f
}

// Wet 1.5, bike park 1.5, e-bike 1.25, a rider over 100 kg 1.25, together at
// most 2: common practice (no source). The products are arithmetic.
func TestWhatAnHourCountsFor(t *testing.T) {
	for _, c := range []struct {
		name       string
		conditions []string
		want       float64
		why        int
	}{
		{"nothing said", nil, 1, 0},
		{"dry", []string{Dry}, 1, 0},
		{"wet", []string{Wet}, 1.5, 1},
		{"wet on some days, dry on others: the harder counts", []string{Dry, Wet}, 1.5, 1},
		{"said twice", []string{EBike, EBike}, 1.25, 1},
		{"an e-bike with a heavy rider", []string{EBike, HeavyRider}, 1.5625, 2},
		{"a wet e-bike", []string{Wet, EBike}, 1.875, 2},
		{"a wet bike park is held at 2", []string{Wet, BikePark}, 2, 3},
		{"all at once", []string{Wet, BikePark, EBike, HeavyRider}, 2, 5},
	} {
		got, why := shopFactors().Of(c.conditions)
		if !near(got, c.want) || len(why) != c.why {
			t.Errorf("%s: got %v by %v, want %v by %d factors", c.name, got, why, c.want, c.why)
		}
	}
	if got, why := (Factors{}).Of([]string{Wet}); got != 1 || why != nil {
		t.Errorf("a shop without factors: got %v by %v, want 1", got, why)
	}
}

// 43 h in wet grit are 64.5 h of use; 2 rides of 1.5 h in seven weeks are 21 h,
// of an e-bike 26.25: arithmetic from the factors above.
func TestHoursAreUsedByWhatItIsRiddenIn(t *testing.T) {
	stated := Reading{Kind: Stated, Hours: 43, Since: on2(t, "2026-03-02"), At: on(t, "2026-04-20")}
	habit := Reading{Kind: Habit, RidesAWeek: 2, HoursARide: 1.5, At: on(t, "2026-03-02")}
	with := func(r Reading, conditions ...string) Reading {
		r.Conditions = conditions
		return r
	}
	heavy, light := 100.5, 100.0
	for _, c := range []struct {
		name        string
		said        []Reading
		riding      Riding
		used, plain float64
	}{
		{"nothing said of it", []Reading{stated}, Riding{}, 43, 43},
		{"its own", []Reading{with(stated, Wet)}, Riding{}, 64.5, 43},
		{"those of the habit before it", []Reading{with(habit, Wet), stated}, Riding{}, 64.5, 43},
		{"its own before those of the habit", []Reading{with(habit, Wet), with(stated, Dry)}, Riding{}, 43, 43},
		{"a habit that begins after it does not", []Reading{stated, with(Reading{Kind: Habit, RidesAWeek: 2, HoursARide: 1.5, At: on(t, "2026-04-21")}, Wet)}, Riding{}, 43, 43},
		{"a habit's own", []Reading{with(habit, BikePark)}, Riding{}, 31.5, 21},
		{"an e-bike by its job", []Reading{habit}, Riding{Now: Owner{EBike: true}}, 26.25, 21},
		{"an e-bike by its job and as said counts once", []Reading{with(habit, EBike)}, Riding{Now: Owner{EBike: true}}, 26.25, 21},
		{"a rider over 100 kg", []Reading{habit}, Riding{Now: Owner{RiderKG: &heavy}}, 26.25, 21},
		{"a rider of 100 kg", []Reading{habit}, Riding{Now: Owner{RiderKG: &light}}, 21, 21},
	} {
		c.riding.Factors = shopFactors()
		got := NewLog(c.said, time.UTC, c.riding).Ridden(on(t, "2026-03-02"), on(t, "2026-04-20"))
		if !near(got.Hours, c.used) || !near(got.Plain, c.plain) || got.Gap != 0 {
			t.Errorf("%s: got %+v, want %v h used of %v h", c.name, got, c.used, c.plain)
		}
	}
}

func on2(t *testing.T, text string) *time.Time {
	t.Helper()
	d := on(t, text)
	return &d
}

// The differences of a meter are arithmetic; hours on a trainer do not count:
// common practice (no source).
func TestAMeterCountsByItsDifferences(t *testing.T) {
	meter := func(day string, shows float64) Reading {
		return Reading{Kind: Meter, Hours: shows, OnDay: on2(t, day), At: on(t, day), Source: "bike computer"}
	}
	indoors := func(r Reading, h float64) Reading {
		r.IndoorHours = h
		return r
	}
	other := meter("2026-03-20", 7)
	other.Source = "rider"
	stated := Reading{Kind: Stated, Hours: 70, Since: on2(t, "2026-03-02"), At: on(t, "2026-05-11")}
	for _, c := range []struct {
		name  string
		said  []Reading
		hours float64
		gap   int
	}{
		{"once tells nothing", []Reading{meter("2026-03-02", 400)}, 0, 70},
		{"twice", []Reading{meter("2026-03-02", 400), meter("2026-05-11", 430)}, 30, 0},
		{"three times", []Reading{meter("2026-03-02", 400), meter("2026-04-06", 410), meter("2026-05-11", 430)}, 30, 0},
		{"said out of order", []Reading{meter("2026-05-11", 430), meter("2026-03-02", 400)}, 30, 0},
		{"not ridden", []Reading{meter("2026-03-02", 400), meter("2026-05-11", 400)}, 0, 0},
		{"begun before, by the share of its days", []Reading{meter("2026-02-02", 400), meter("2026-05-11", 449)}, 35, 0},
		{"went back: a new one, the days between are unknown", []Reading{meter("2026-03-02", 400), meter("2026-04-06", 3), meter("2026-05-11", 13)}, 10, 35},
		{"two on a day", []Reading{meter("2026-03-02", 400), meter("2026-05-11", 428), meter("2026-05-11", 430)}, 30, 0},
		{"of a trainer", []Reading{meter("2026-03-02", 400), indoors(meter("2026-05-11", 430), 12)}, 18, 0},
		{"more on a trainer than it ran", []Reading{meter("2026-03-02", 400), indoors(meter("2026-05-11", 430), 31)}, 0, 0},
		{"two meters do not mix", []Reading{meter("2026-03-02", 400), other, meter("2026-05-11", 430)}, 30, 0},
		{"before what is stated", []Reading{meter("2026-03-02", 400), meter("2026-05-11", 430), stated}, 30, 0},
		{"what is stated for the days it was not read", []Reading{meter("2026-04-06", 400), meter("2026-05-11", 430), stated}, 35 + 30, 0},
		{"stated, of a trainer", []Reading{indoors(stated, 20)}, 50, 0},
	} {
		log := NewLog(c.said, time.UTC, Riding{})
		got := log.Ridden(on(t, "2026-03-02"), on(t, "2026-05-11"))
		if !near(got.Hours, c.hours) || got.Gap != c.gap {
			t.Errorf("%s: got %+v, want %v h and a gap of %d days", c.name, got, c.hours, c.gap)
		}
	}
	used := NewLog([]Reading{meter("2026-03-02", 400), meter("2026-04-06", 3), meter("2026-05-11", 13)}, time.UTC, Riding{}).Used()
	if len(used) != 3 || !used[2].FirstMeter || !used[1].NewMeter || used[0].NewMeter || used[0].Plain != 10 {
		t.Errorf("how they count: %+v, want the first, a new one, 10 h of it", used)
	}
}

// In the season 2 rides of 1.5 h, off it one of 1 h. The dates are those of
// TestTheSeasonOfEachHemisphere: 1 March to 31 October in the north.
func TestAHabitIsOfItsPartOfTheYear(t *testing.T) {
	habit := func(season, since string, rides, each float64) Reading {
		r := Reading{Kind: Habit, Season: season, RidesAWeek: rides, HoursARide: each, At: on(t, "2026-01-05")}
		if since != "" {
			r.Since = on2(t, since)
		}
		return r
	}
	summer, winter := habit(InSeason, "", 2, 1.5), habit(OffSeason, "", 1, 1)
	for _, c := range []struct {
		name     string
		said     []Reading
		season   Season
		from, to string
		hours    float64
		gap      int
	}{
		{"both, over the end of the season", []Reading{summer, winter}, SeasonOf("north"), "2026-10-24", "2026-11-14", 3 + 2, 0},
		{"both, over its beginning", []Reading{winter, summer}, SeasonOf("north"), "2026-02-21", "2026-03-07", 1 + 3, 0},
		{"the season alone leaves the winter unknown", []Reading{summer}, SeasonOf("north"), "2026-10-24", "2026-11-14", 3, 14},
		{"half a year later in the south", []Reading{summer, winter}, SeasonOf("south"), "2026-04-23", "2026-05-14", 3 + 2, 0},
		{"by the shop's own dates, over the new year", []Reading{summer, winter}, SeasonOf("north").Between("12-01", "01-14"), "2026-11-23", "2027-01-28", 1 + 3*45.0/7 + 2, 0},
		{"all year, then another in the season", []Reading{habit(AllYear, "", 1, 1), habit(InSeason, "2026-05-01", 2, 1.5)}, SeasonOf("north"), "2026-10-24", "2026-11-14", 3 + 2, 0},
	} {
		got := NewLog(c.said, time.UTC, Riding{Season: c.season}).Ridden(on(t, c.from), on(t, c.to))
		if !near(got.Hours, c.hours) || got.Gap != c.gap {
			t.Errorf("%s: got %+v, want %v h and a gap of %d days", c.name, got, c.hours, c.gap)
		}
	}
}

// A day is in the season or off it: the ends of a season are in it.
func TestTheEndsOfASeason(t *testing.T) {
	over := SeasonOf("north").Between("11-15", "02-10")
	for _, c := range []struct {
		season Season
		day    string
		want   bool
	}{
		{SeasonOf("north"), "2026-02-28", false}, {SeasonOf("north"), "2026-03-01", true}, {SeasonOf("north"), "2026-10-31", true},
		{SeasonOf("north"), "2026-11-01", false}, {SeasonOf("north"), "2028-02-29", false}, {SeasonOf("south"), "2026-12-31", true},
		{SeasonOf("south"), "2027-01-01", true}, {SeasonOf("south"), "2027-05-01", false},
		{over, "2026-11-14", false}, {over, "2026-11-15", true}, {over, "2027-01-01", true}, {over, "2027-02-10", true}, {over, "2027-02-11", false},
	} {
		if got := c.season.Holds(on(t, c.day)); got != c.want {
			t.Errorf("%v holds %s: %v, want %v", c.season, c.day, got, c.want)
		}
	}
	// Once between the end of one season and the start of the next.
	end, start := over.After(on(t, "2026-12-24"))
	if got := end.Format(time.DateOnly) + " " + start.Format(time.DateOnly); got != "2027-02-10 2027-11-15" {
		t.Errorf("a season over the new year ends and begins again on %s", got)
	}
}
