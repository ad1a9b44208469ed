package stat_test

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"damperdesk/internal/stat"
	"damperdesk/internal/vector"
)

func date(t *testing.T, text string) time.Time {
	t.Helper()
	d, err := time.Parse(time.DateOnly, text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func nearYear(t *testing.T, got stat.Year, err error, want []float64, tolerance float64) {
	t.Helper()
	worst := 0.0
	for m, w := range want {
		worst = max(worst, math.Abs(got[m]-w))
	}
	t.Logf("off by %.2g of %g", worst, tolerance)
	if err != nil || worst > tolerance {
		t.Errorf("%v, %v; want %v", got, err, want)
	}
}

// airlineYear is R 4.2.2, glm of AirPassengers by year and month, Poisson, with the days
// of each month as offset, the months divided by their mean over the days.
var airlineYear = []float64{
	0.846922058, 0.901909453, 0.946474082, 0.966861324, 0.952312910, 1.128256272,
	1.230825024, 1.229949200, 1.094770591, 0.933920601, 0.842873803, 0.917279940,
}

// Each year of the airline is a rider who was asked after every month.
func TestYearOfTheAirlinePassengers(t *testing.T) {
	var spans []stat.Span
	for i, n := range series(t, "airline") {
		from := time.Date(1949, time.January+time.Month(i), 1, 0, 0, 0, 0, time.UTC)
		spans = append(spans, stat.Span{Rider: int64(i / 12), From: from, Days: int(from.AddDate(0, 1, 0).Sub(from).Hours() / 24), Rides: n})
	}
	got, err := stat.YearOf(spans, stat.Even(), 0)
	nearYear(t, got, err, airlineYear, 2e-8)
}

// Spans over months, drawn toward an even year and toward a summer: the posterior
// mode of the same model by R 4.2.2 optim (testdata/stat/spans.csv).
func TestYearOfSpansOverMonths(t *testing.T) {
	var spans []stat.Span
	for _, row := range vector.Rows(t, "stat", "spans") {
		spans = append(spans, stat.Span{Rider: int64(whole(t, row["rider"])), From: date(t, row["from"]), Days: whole(t, row["days"]), Rides: float(t, row["rides"])})
	}
	got, err := stat.YearOf(spans, stat.Even(), 20)
	nearYear(t, got, err, []float64{0.705820, 0.720981, 0.758164, 1.161302, 1.167417, 1.466194, 1.466910, 1.212123, 0.966893, 0.940620, 0.710356, 0.708300}, 2e-6)
	got, err = stat.YearOf(spans, stat.Year{.4, .4, .8, 1, 1.3, 1.5, 1.5, 1.5, 1.3, 1, .6, .4}, 5)
	nearYear(t, got, err, []float64{0.275220, 0.341872, 0.749675, 1.189723, 1.445862, 1.990064, 1.852457, 1.443220, 1.098074, 0.848323, 0.442939, 0.287441}, 2e-6)
}

func TestYearOfNothingIsWhatWasHeld(t *testing.T) {
	summer, err := stat.Year{0, 0, 1, 1, 1, 1, 1, 1, 1, 1, 0, 0}.Normal()
	if err != nil {
		t.Fatal(err)
	}
	got, err := stat.YearOf(nil, summer, 10)
	nearYear(t, got, err, summer[:], 1e-12)
	for name, bad := range map[string]func() (stat.Year, error){
		"a year of no riding": func() (stat.Year, error) { return stat.YearOf(nil, stat.Year{}, 10) },
		"less than no riding": func() (stat.Year, error) { return stat.Year{0: -1, 5: 3}.Normal() },
		"a month of NaN":      func() (stat.Year, error) { return stat.Year{0: math.NaN(), 5: 3}.Normal() },
		"held less than none": func() (stat.Year, error) { return stat.YearOf(nil, summer, -1) },
		"a span of no days": func() (stat.Year, error) {
			return stat.YearOf([]stat.Span{{Rides: 3}}, summer, 1)
		},
		"less than no rides": func() (stat.Year, error) {
			return stat.YearOf([]stat.Span{{Days: 3, Rides: -3}}, summer, 1)
		},
	} {
		if y, err := bad(); err == nil {
			t.Errorf("%s: %v", name, y)
		}
	}
}

// By hand: from 20 February 2028, of a leap year, there are ten days of February
// and then March; of 2027 nine.
func TestWeeksOfAYear(t *testing.T) {
	y := stat.Year{0, 0.5, 2, 1, 1, 1, 1, 1, 1, 1, 1, 0}
	for _, c := range []struct {
		from        string
		days, weeks float64
	}{
		{"2028-02-20", 10, 5.0 / 7},
		{"2028-02-20", 11, 7.0 / 7},
		{"2027-02-20", 10, 6.5 / 7},
		{"2027-02-20", 0, 0},
		{"2027-12-01", 62, 0},
		{"2027-12-01", 63, 0.5 / 7},
		{"2027-03-31", 1, 2.0 / 7},
		{"2027-12-31", 1, 0},
	} {
		if got := y.Weeks(date(t, c.from), c.days); math.Abs(got-c.weeks) > 1e-12 {
			t.Errorf("%v days from %s are %v weeks, want %v", c.days, c.from, got, c.weeks)
		}
	}
	if got := y.Days(date(t, "2027-11-01"), 30.0/7); got != 30 {
		t.Errorf("all of November is over in %v days, want 30: nothing is ridden in December", got)
	}
	if got := stat.Even().Days(date(t, "2027-11-01"), 1e5); !math.IsInf(got, 1) {
		t.Errorf("in %v days, want never", got)
	}
	if got := stat.Even().Days(date(t, "2027-11-01"), math.Inf(1)); !math.IsInf(got, 1) {
		t.Errorf("in %v days, want never", got)
	}
}

// There and back again, over leap days, and a year of weeks is a year.
func TestDaysAndWeeksAreInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var y stat.Year
		for m := range y {
			y[m] = rapid.Float64Range(0.05, 3).Draw(t, "month")
		}
		y, err := y.Normal()
		if err != nil {
			t.Fatal(err)
		}
		from := time.Date(2027, 1, 1+rapid.IntRange(0, 1500).Draw(t, "from"), 0, 0, 0, 0, time.UTC)
		weeks := rapid.Float64Range(0, 300).Draw(t, "weeks")
		days := y.Days(from, weeks)
		if back := y.Weeks(from, days); math.Abs(back-weeks) > 1e-9 {
			t.Errorf("%v weeks are %v days, and those %v weeks", weeks, days, back)
		}
		more := rapid.Float64Range(0, 900).Draw(t, "days")
		if there := y.Days(from, y.Weeks(from, more)); math.Abs(there-more) > 1e-7 {
			t.Errorf("%v days come back as %v", more, there)
		}
		if sum, parts := y.Weeks(from, 500), y.Weeks(from, 123)+y.Weeks(from.AddDate(0, 0, 123), 377); math.Abs(sum-parts) > 1e-9 {
			t.Errorf("500 days are %v weeks, in two parts %v", sum, parts)
		}
		if four := y.Weeks(from, 4*365+1); math.Abs(four-(4*365+1)/7.0) > 1e-9 {
			t.Errorf("four years are %v weeks", four)
		}
	})
}
