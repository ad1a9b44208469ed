package simulate

import (
	"math"
	"math/rand/v2"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"damperdesk/internal/interval"
)

// How people ride and what they say of it, invented. Nothing of it is told to
// the forecast but by readings.
const (
	ridersShape = 2.5  // riders differ: the shape of the gamma distribution of their rates
	ridersMean  = 1.8  // rides in a usual week
	rideMedian  = 1.8  // hours, of the means of riders
	rideDiffer  = 0.35 // standard deviation of their logarithm
	rideShape   = 4.0  // of one ride
	ridesWet    = 0.2  // of the riders ride in the wet, and say so
	ridersLimit = 50   // hours of use
	ridersAhead = 10   // years in which a limit is met or never

	guessOff   = 0.15 // of hours that are guessed, as a standard deviation of their logarithm
	guessRound = 5    // hours
	habitOff   = 0.30 // of rides a week that are said, for good: people do not know better
	habitOver  = 0.10 // the logarithm of what most say too much
	visitOff   = 0.40 // of the hours at which a unit is brought, over the limit
	visitDays  = 365  // or after so many days, give or take
	writesDays = 60   // between what is written on the customer’s page
)

// ridersYear is how riding really goes with the months, unlike what is shipped.
var ridersYear = [12]float64{0.30, 0.35, 0.75, 1.10, 1.40, 1.55, 1.50, 1.45, 1.25, 0.95, 0.55, 0.30}

// Teller is how a rider speaks of hours.
type Teller string

// The tellers.
const (
	Counts  Teller = "reads a bike computer"
	Guesses Teller = "guesses the hours"
	Habits  Teller = "says a habit alone"
	Silent  Teller = "says nothing"
)

// Tellers from the one who knows most.
var Tellers = []Teller{Counts, Guesses, Habits, Silent}

// ridersBegin is when the shop opens.
var ridersBegin = time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)

// life is one rider with one unit.
type life struct {
	teller   Teller
	wet      bool
	rate     float64   // rides in a usual week
	ride     float64   // mean hours
	factor   float64   // an hour’s use
	used     []float64 // hours by the end of each day, day 0 is that before the shop opens
	readings []interval.Reading
	served   []int // days of services, in order
	asked    []int // days on which something was said, in order
}

var ridersFactors = interval.Factors{
	interval.Wet:    {Kind: interval.Wet, Factor: 1.5},
	interval.AtMost: {Kind: interval.AtMost, Factor: 2},
}

// inventLife is a rider over the years that are simulated and ten more, in which
// what is foretold comes true.
func inventLife(r *rand.Rand, years int) life {
	l := life{teller: Tellers[3], factor: 1}
	switch x := r.Float64(); {
	case x < 0.20:
		l.teller = Counts
	case x < 0.55:
		l.teller = Guesses
	case x < 0.85:
		l.teller = Habits
	}
	if l.wet = r.Float64() < ridesWet; l.wet {
		l.factor = ridersFactors[interval.Wet].Factor
	}
	l.rate = distuv.Gamma{Alpha: ridersShape, Beta: ridersShape / ridersMean, Src: r}.Rand()
	l.ride = rideMedian * math.Exp(rideDiffer*r.NormFloat64())
	l.goRiding(r, ridersDay(years+ridersAhead))
	l.visit(r, ridersDay(years))
	return l
}

// ridersDay is the number of days of the first years.
func ridersDay(years int) int {
	return int(ridersBegin.AddDate(years, 0, 0).Sub(ridersBegin).Hours() / 24)
}

func ridersDate(day int) time.Time { return ridersBegin.AddDate(0, 0, day-1) }

func (l *life) goRiding(r *rand.Rand, days int) {
	length := distuv.Gamma{Alpha: rideShape, Beta: rideShape / l.ride, Src: r}
	l.used = make([]float64, days+1)
	for day := 1; day <= days; day++ {
		l.used[day] = l.used[day-1]
		for range poisson(r, l.rate/7*ridersYear[ridersDate(day).Month()-1]) {
			l.used[day] += length.Rand() * l.factor
		}
	}
}

// visit takes the unit to the shop, about when its hours are over or a year is,
// and has its rider say something there and now and then between.
func (l *life) visit(r *rand.Rand, days int) {
	said := math.Round(2*l.rate*math.Exp(habitOver+habitOff*r.NormFloat64())) / 2
	each := math.Max(0.5, math.Round(2*l.ride*math.Exp(0.1*r.NormFloat64()))/2)
	habit := func(day int) {
		l.read(day, interval.Reading{Kind: interval.Habit, RidesAWeek: said, HoursARide: each})
	}
	day := 1 + r.IntN(120)
	if l.teller == Habits || l.teller != Silent && r.Float64() < 0.6 {
		habit(day)
	}
	writes := l.teller != Silent && r.Float64() < 0.5
	for day <= days {
		l.served = append(l.served, day)
		next := l.bring(r, day)
		for at := day; writes; {
			at += 1 + int(writesDays*r.ExpFloat64())
			if at >= min(next, days+1) {
				break
			}
			l.say(r, day, at, habit)
		}
		if next <= days && l.teller != Silent {
			l.say(r, day, next, habit)
		}
		day = next
	}
}

// bring is the day the unit is brought the next time.
func (l *life) bring(r *rand.Rand, day int) int {
	at := ridersLimit * math.Exp(visitOff*r.NormFloat64())
	last := day + int(visitDays*math.Exp(0.2*r.NormFloat64()))
	next := day + 1
	for next < min(last, len(l.used)-1) && l.used[next]-l.used[day] < at {
		next++
	}
	return next
}

// say is what the rider says on a day of the hours since the service on another.
func (l *life) say(r *rand.Rand, since, day int, habit func(int)) {
	hours := (l.used[day] - l.used[since]) / l.factor
	left := ridersDate(since)
	switch l.teller {
	case Counts:
		l.read(day, interval.Reading{Kind: interval.Stated, Hours: math.Round(hours), Since: &left, Source: interval.Sources[1]})
	case Guesses:
		hours *= math.Exp(guessOff * r.NormFloat64())
		l.read(day, interval.Reading{Kind: interval.Stated, Hours: guessRound * math.Round(hours/guessRound), Since: &left, Source: interval.Sources[0]})
	case Habits:
		habit(day)
	}
}

func (l *life) read(day int, of interval.Reading) {
	of.At = ridersDate(day).Add(12 * time.Hour)
	if of.Source == "" {
		of.Source = interval.Sources[0]
	}
	if l.wet {
		of.Conditions = []string{interval.Wet}
	}
	l.readings = append(l.readings, of)
	l.asked = append(l.asked, day)
}

// met is the day on which the hours since the end of another really come to the
// limit; 0 for not in ten years.
func (l *life) met(since int) int {
	for day := since + 1; day < len(l.used); day++ {
		if l.used[day]-l.used[since] >= ridersLimit {
			return day
		}
	}
	return 0
}
