package interval

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"damperdesk/internal/stat"
)

// Rides of 2 h on average come 2.5 times a week, of which so many were counted
// that the rate is as good as known: 50 h take 7.46428, 10.10025, 13.22837 weeks
// with chances of 10, 50 and 90 % (the series of the compound Poisson process in
// SciPy), in a year without seasons. The days are those by whose end it is so.
func TestForecastOfACompoundPoissonProcess(t *testing.T) {
	r := riding{from: on(t, "2026-03-02"), pace: stat.Pace{Rides: 2.5e7, Weeks: 1e7, RideShape: 4, RideHours: 2}, year: stat.Even()}
	got := r.comesTo(50, 0.1, 0.5, 0.9)
	for i, weeks := range []float64{7.46428, 10.10025, 13.22837} {
		if want := r.from.AddDate(0, 0, int(math.Ceil(weeks*7))); !got[i].Equal(want) {
			t.Errorf("quantile %d: got %s, want %s", i, got[i].Format(time.DateOnly), want.Format(time.DateOnly))
		}
	}
}

// What was counted is met on a day of it, by its share: 20 h in the first 30 days,
// 40 h in the next 20, so that 50 h are met 15 days into those. All three days of
// the forecast are that day.
func TestHoursThatAreMetByWhatWasCounted(t *testing.T) {
	from := func(day string) *time.Time { d := on(t, day); return &d }
	log := NewLog([]Reading{
		{Kind: Stated, Hours: 20, Since: from("2026-03-01"), At: on(t, "2026-03-31")},
		{Kind: Stated, Hours: 40, Since: from("2026-03-31"), At: on(t, "2026-04-20")},
	}, time.UTC, Riding{})
	day := on(t, "2026-03-01")
	o := Rule{Hours: 50}.Outlook(Facts{Served: &Served{Ready: day, Left: day}, Log: log, Season: SeasonOf("north"), Norm: Shipped(SeasonOf("north"))})
	want := on(t, "2026-04-15")
	if o.Low != want || o.Median != want || o.High != want || o.Due != want || o.Hours != 60 || !o.Counted.Equal(on(t, "2026-04-20")) {
		t.Errorf("got %+v, want all on %s", o, want.Format(time.DateOnly))
	}
	if overdue := on(t, "2026-04-20"); o.Overdue != overdue { // 60 h
		t.Errorf("overdue on %s, want %s", o.Overdue, overdue)
	}
}

// Facts of the trade, common practice (no source): whoever rides twice a week in
// season rides less in winter, so that 50 h from the autumn on take longer than
// from the spring on; a rider of whom little is known has a wider band than one
// who was counted for a year; and who rides in the wet wears a fork out sooner.
func TestForecastsAreAsTheTradeKnowsThem(t *testing.T) {
	north := SeasonOf("north")
	look := func(left string, riding Riding, said ...Reading) Outlook {
		day := on(t, left)
		riding.Season = north
		return Rule{Hours: 50}.Outlook(Facts{Served: &Served{Ready: day, Left: day}, Log: NewLog(said, time.UTC, riding), Season: north, Norm: Shipped(north)})
	}
	habit := Reading{Kind: Habit, RidesAWeek: 2, HoursARide: 1.5, At: on(t, "2026-03-01")}
	spring, autumn := look("2026-03-01", Riding{}, habit), look("2026-10-01", Riding{}, habit)
	if a, b := days(spring.Counted, spring.Median), days(autumn.Counted, autumn.Median); float64(b) < 1.5*float64(a) {
		t.Errorf("50 h take %d days from the spring on and %d from the autumn on", a, b)
	}
	// 3 h a week in season are 50 h in some 17 weeks.
	if n := days(spring.Counted, spring.Median); n < 14*7 || n > 20*7 {
		t.Errorf("50 h at 3 h a week take %d days", n)
	}
	year := on(t, "2025-03-01")
	counted := look("2026-03-01", Riding{}, habit, Reading{Kind: Stated, Hours: 122, Since: &year, At: on(t, "2026-03-01")})
	wide := func(o Outlook) float64 { return float64(days(o.Low, o.High)) / float64(days(o.Counted, o.Median)) }
	if wide(counted) >= wide(spring) {
		t.Errorf("the band of a rider who was counted is %.2f of the median, of one who was not %.2f", wide(counted), wide(spring))
	}
	wet := habit
	wet.Conditions = []string{Wet}
	if o := look("2026-03-01", Riding{Factors: Factors{Wet: {Kind: Wet, Factor: 1.5}}}, wet); !o.Median.Before(spring.Median) {
		t.Errorf("wet and gritty: %s, else %s", o.Median, spring.Median)
	}
	if o := look("2026-03-01", Riding{}); o.Wants != WantsRiding || !o.Median.IsZero() {
		t.Errorf("of nobody who said anything: %+v", o)
	}
}

// rider rides by chance: gamma rides at a rate of their own, through the seasons.
type rider struct {
	rand *rand.Rand
	rate float64 // rides a usual week
}

// ride gives the hours of each day from a day on.
func (r rider) ride(from time.Time, n int, y stat.Year) []float64 {
	length := distuv.Gamma{Alpha: 4, Beta: 2, Src: r.rand}
	hours := make([]float64, n)
	for i := range hours {
		day := from.AddDate(0, 0, i+1)
		rides := distuv.Poisson{Lambda: r.rate / 7 * y[day.Month()-1], Src: r.rand}.Rand()
		for range int(rides) {
			hours[i] += length.Rand()
		}
	}
	return hours
}

// Of 2000 riders drawn as the model has them, each counted for some weeks, half of
// them by a guess, and riding more or less thereafter, the band holds four in five,
// by simulation: within three standard errors, 2.7 %, and what three points are
// short of a normal distribution.
func TestFourInFiveForecastsComeTrue(t *testing.T) {
	const riders = 2000
	n := Shipped(SeasonOf("north"))
	random := rand.New(rand.NewPCG(68, 1))
	inside, before, start := 0, 0, on(t, "2025-04-10")
	later := distuv.Gamma{Alpha: 1 / (yearOff * yearOff), Beta: 1 / (yearOff * yearOff), Src: random}
	for i := range riders {
		r := rider{random, distuv.Gamma{Alpha: n.Pace.Rides, Beta: n.Pace.Weeks, Src: random}.Rand()}
		weeks := 2 + random.IntN(12)
		counted, left := 0.0, start.AddDate(0, 0, weeks*7)
		for _, h := range r.ride(start, weeks*7, n.Year) {
			counted += h
		}
		source := byComputer
		if i%2 == 0 {
			source, counted = Sources[0], counted*math.Exp(guessOff*random.NormFloat64())
		}
		log := NewLog([]Reading{{Kind: Stated, Hours: counted, Since: &start, At: left, Source: source}}, time.UTC, Riding{})
		f := Rule{Hours: 50}.Outlook(Facts{Served: &Served{Ready: left, Left: left}, Log: log, Season: SeasonOf("north"), Norm: n})
		met, sum := time.Time{}, 0.0
		r.rate *= later.Rand()
		for i, h := range r.ride(left, 6000, n.Year) {
			if sum += h; sum >= 50 {
				met = left.AddDate(0, 0, i+1)
				break
			}
		}
		if (Past{Forecast: f.Forecast, Came: met}).Inside() || met.IsZero() && f.High.IsZero() {
			inside++
		}
		if !met.IsZero() && (f.Median.IsZero() || !met.After(f.Median)) {
			before++
		}
	}
	for words, got := range map[string][2]float64{"inside the band": {float64(inside) / riders, 0.8}, "by the median": {float64(before) / riders, 0.5}} {
		if math.Abs(got[0]-got[1]) > 0.035 {
			t.Errorf("%.3f came %s, want %v", got[0], words, got[1])
		} else {
			t.Logf("%.3f came %s", got[0], words)
		}
	}
}

// Of hours that somebody guessed the band is wider both ways than of the same that a
// computer counted, and the day between as before.
func TestGuessedHoursWidenTheBand(t *testing.T) {
	left := on(t, "2026-03-02")
	look := func(source string) Outlook {
		log := NewLog([]Reading{{Kind: Stated, Hours: 30, Since: &left, At: on(t, "2026-05-11"), Source: source}}, time.UTC, Riding{})
		return Rule{Hours: 50}.Outlook(Facts{Served: &Served{Ready: left, Left: left}, Log: log, Season: SeasonOf("north"), Norm: Shipped(SeasonOf("north"))})
	}
	counted := look(byComputer)
	for _, source := range []string{Sources[0], Sources[2]} {
		if o := look(source); !o.Low.Before(counted.Low) || !o.Median.Equal(counted.Median) || !o.High.After(counted.High) || o.Low.Before(o.Counted) {
			t.Errorf("%s: %+v, counted %+v", source, o.Forecast, counted.Forecast)
		}
	}
}

// A habit is off by a share: who rides much is no better known by one than who rides
// half as much, and both less than who was counted for months.
func TestAHabitIsOffByAShare(t *testing.T) {
	left := on(t, "2026-03-02")
	rides := func(list ...Reading) float64 {
		return NewLog(list, time.UTC, Riding{}).pace(Shipped(SeasonOf("north"))).Rides
	}
	habit := func(n float64) Reading {
		return Reading{Kind: Habit, RidesAWeek: n, HoursARide: 2, At: left}
	}
	much, less := rides(habit(6)), rides(habit(3))
	counted := rides(Reading{Kind: Stated, Hours: 100, Since: &left, At: on(t, "2026-08-02"), Source: byComputer})
	if math.Abs(much-less) > 1e-9 || less >= counted || rides(habit(0.5)) >= less {
		t.Errorf("as good as %v and %v rides, counted %v", much, less, counted)
	}
}

// The norm finds the rate, the length of rides and the seasons that riders were
// drawn with; of nine riders it says what is shipped.
func TestFitFindsWhatRidersHaveInCommon(t *testing.T) {
	shipped := Shipped(SeasonOf("north"))
	y := stat.Year{0.1, 0.2, 0.6, 1.2, 1.6, 1.8, 1.8, 1.6, 1.3, 1, 0.6, 0.2}
	y, err := y.Normal()
	if err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(68, 2))
	var riders []Rider
	for range 300 {
		r := rider{random, distuv.Gamma{Alpha: 4, Beta: 2, Src: random}.Rand()} // 2 rides a week
		start := on(t, "2025-01-01").AddDate(0, 0, random.IntN(300))
		hours := r.ride(start, 240, y)
		of := Rider{RideHours: 2}
		for i := 0; i < 240; i += 60 {
			s := Span{From: start.AddDate(0, 0, i), To: start.AddDate(0, 0, i+60)}
			for _, h := range hours[i : i+60] {
				s.Plain += h
			}
			of.Spans = append(of.Spans, s)
		}
		riders = append(riders, of)
	}
	n := Fit(riders, SeasonOf("north"))
	if n.Riders != 300 || math.Abs(n.Pace.Rides/n.Pace.Weeks-2) > 0.2 || n.Pace.Rides < 3 || n.Pace.Rides > 5.5 || n.Pace.RideHours != 2 {
		t.Errorf("got %+v, want 2 rides a week of shape 4 and 2 h each", n)
	}
	for m, w := range n.Year {
		if math.Abs(w-y[m]) > 0.25 {
			t.Errorf("%s is %.2f, want %.2f", time.Month(m+1), w, y[m])
		}
	}
	few := Fit(riders[:9], SeasonOf("north"))
	if few.Riders != 0 || few.Spans != 0 || few.Pace != shipped.Pace || few.Year != shipped.Year {
		t.Errorf("of nine riders: %+v, want what is shipped", few)
	}
}
