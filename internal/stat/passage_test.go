package stat_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"damperdesk/internal/stat"
	"damperdesk/internal/vector"
)

// checkPassage reads rides without weeks as a rate that is known.
func checkPassage(t *testing.T, row vector.Row) {
	rides, shape, hours, level := float(t, row["rides"]), float(t, row["shape"]), float(t, row["hours"]), float(t, row["level"])
	p, err := stat.Steady{RidesAWeek: rides, RideShape: shape, RideHours: hours}.Passage(level)
	if row["weeks"] != "" {
		p, err = stat.Pace{Rides: rides, Weeks: float(t, row["weeks"]), RideShape: shape, RideHours: hours}.Passage(level)
	}
	if !answered(t, row["want"], err) {
		return
	}
	got := 0.0
	switch what, at, _ := strings.Cut(row["what"], " "); what {
	case "within":
		got = p.Quantile(float(t, at))
	case "by":
		got = p.By(float(t, at))
	case "rides":
		got = float64(p.Rides(float(t, at)))
	case "mean":
		if got = p.Mean(); at == "rides" {
			got = p.MeanRides()
		}
	case "sd":
		got = p.SD()
	}
	switch want := float(t, row["want"]); {
	case math.IsNaN(want) && math.IsNaN(got), math.IsInf(want, 1) && got == want:
	default:
		row.Near(t, got, nil, "want")
	}
}

func checkRate(t *testing.T, row vector.Row) {
	common, err := stat.CommonRate(ridersOf(t, row["riders"]))
	if !answered(t, row["want"], err) {
		return
	}
	switch what, seen, _ := strings.Cut(row["what"], " "); what {
	case "shape":
		row.Near(t, common.Rides, nil, "want")
	case "scale":
		row.Near(t, 1/common.Weeks, nil, "want")
	case "mean":
		row.Near(t, common.Mean(), nil, "want")
	case "after":
		row.Near(t, common.And(ridersOf(t, seen)[0]).Mean(), nil, "want")
	default:
		t.Fatal(what)
	}
}

func checkRode(t *testing.T, row vector.Row) {
	p := stat.Pace{Rides: float(t, row["rides"]), Weeks: float(t, row["weeks"]), RideShape: float(t, row["shape"]), RideHours: float(t, row["hours"])}
	got, err := p.Rode(float(t, row["ridden"]), float(t, row["over"]))
	if answered(t, row["mean"], err) {
		row.Near(t, got.Rides/got.Weeks, nil, "mean")
		row.Near(t, math.Sqrt(got.Rides)/got.Weeks, nil, "sd")
	}
}

// ridersOf reads rides/weeks, or many*rides/weeks.
func ridersOf(t *testing.T, text string) (list []stat.Rate) {
	for word := range strings.FieldsSeq(text) {
		many, one, ok := strings.Cut(word, "*")
		if !ok {
			many, one = "1", word
		}
		rides, weeks, _ := strings.Cut(one, "/")
		for range whole(t, many) {
			list = append(list, stat.Rate{Rides: float(t, rides), Weeks: float(t, weeks)})
		}
	}
	return list
}

// 20 000 riders, each with a rate drawn of what is held of it, ride by ride:
// below each quantile lie as many as it says, give or take four standard errors.
func TestQuantilesHoldTheirShareOfRiders(t *testing.T) {
	const riders = 20000
	r := rand.New(rand.NewPCG(20260301, 1))
	for _, p := range []stat.Pace{{10, 4, 4, 2}, {1.5, 2, 2, 1.5}, {60, 20, 1, 0.8}, {0.6, 1, 8, 3}} {
		passage, err := p.Passage(50)
		if err != nil {
			t.Fatal(err)
		}
		shares := []float64{0.1, 0.25, 0.5, 0.75, 0.9}
		below := make([]int, len(shares))
		rate := distuv.Gamma{Alpha: p.Rides, Beta: p.Weeks, Src: r}
		ride := distuv.Gamma{Alpha: p.RideShape, Beta: p.RideShape / p.RideHours, Src: r}
		for range riders {
			weeks, a := 0.0, rate.Rand()
			for ridden := 0.0; ridden < 50; ridden += ride.Rand() {
				weeks += r.ExpFloat64() / a
			}
			for i, q := range shares {
				if weeks <= passage.Quantile(q) {
					below[i]++
				}
			}
		}
		for i, q := range shares {
			if off := float64(below[i])/riders - q; math.Abs(off) > 4*math.Sqrt(q*(1-q)/riders) {
				t.Errorf("%+v: %d of %d within the quantile %v", p, below[i], riders, q)
			}
		}
	}
}

// The chance grows with the weeks and is the inverse of the quantile; a farther
// level is reached later; twice the weeks for the same rides are twice as long;
// what is surer of the same mean comes near to a rate that is known.
func TestPassageProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := stat.Pace{
			Rides: rapid.Float64Range(0.8, 400).Draw(t, "rides"), Weeks: rapid.Float64Range(0.5, 200).Draw(t, "weeks"),
			RideShape: rapid.Float64Range(0.3, 40).Draw(t, "shape"), RideHours: rapid.Float64Range(0.3, 6).Draw(t, "hours"),
		}
		level, q := rapid.Float64Range(0.1, 500).Draw(t, "level"), rapid.Float64Range(0.02, 0.98).Draw(t, "q")
		passage := func(level float64, p interface {
			Passage(float64) (stat.Passage, error)
		}) stat.Passage {
			of, err := p.Passage(level)
			if err != nil {
				t.Fatal(err)
			}
			return of
		}
		of := passage(level, p)
		at := of.Quantile(q)
		if back := of.By(at); math.Abs(back-q) > 1e-9 {
			t.Errorf("by %v weeks with %v, want %v", at, back, q)
		}
		if of.By(at*1.01) < of.By(at) || of.Quantile(q+0.01) <= at || passage(level*1.1, p).Quantile(q) < at*(1-1e-9) {
			t.Errorf("later, surer or farther is no later than %v", at)
		}
		slower := p
		slower.Weeks *= 2
		if twice := passage(level, slower).Quantile(q); math.Abs(twice-2*at) > 1e-8*at {
			t.Errorf("%v weeks at half the rate, want %v", twice, 2*at)
		}
		known := stat.Steady{RidesAWeek: p.Rides / p.Weeks, RideShape: p.RideShape, RideHours: p.RideHours}
		sure := p
		sure.Rides, sure.Weeks = 1e9, p.Weeks*1e9/p.Rides
		if a, b := passage(level, known).Quantile(q), passage(level, sure).Quantile(q); math.Abs(a-b) > 1e-6*a {
			t.Errorf("%v weeks at a known rate, %v at one that is as good as known", a, b)
		}
	})
}

// Ross, Introduction to Probability Models, 7.3 (example 7.13 and one of machines
// whose parts last gamma(4, 2)): up to 100 come about N(50, 12.5), and with a
// second machine of N(50, 16.667) at least 90 with 0.974. Exactly it is the
// fewest that exceed 100, less one: 49.625 and 12.578 by R 4.2.2, so that the
// theorem is up to 0.01 off.
func TestRidesNeededComeNearTheRenewalTheorem(t *testing.T) {
	p, err := stat.Steady{RidesAWeek: 1, RideShape: 4, RideHours: 2}.Passage(100)
	if err != nil {
		t.Fatal(err)
	}
	// Weeks at one ride a week have the variance of the number and its mean.
	count := p.MeanRides() - 1
	variance := p.SD()*p.SD() - p.MeanRides()
	if math.Abs(count-49.625) > 1e-4 || math.Abs(variance-12.57812) > 1e-4 || math.Abs(variance-12.5) > 0.1 || math.Abs(count-50) > 0.4 {
		t.Errorf("%v with a variance of %v", count, variance)
	}
	both := distuv.Normal{Mu: count + 50 + (4.0/3-4)/8, Sigma: math.Sqrt(variance + 50.0/3)}
	if got := both.Survival(89.5); math.Abs(got-0.9740657) > 0.01 {
		t.Errorf("at least 90 with %v", got)
	}
}

// Ross, A First Course in Probability, 8.7 (from memory): twenty jobs of two
// steps, exponential with means 0.2 and 0.3 h, are done within 8 h with 0.1075 by
// the central limit theorem; 0.09998 by R 4.2.2 integrate. Here jobs are rides
// with that mean and variance.
func TestTwentyJobsOfTwoSteps(t *testing.T) {
	const mean, variance = 0.5, 0.2*0.2 + 0.3*0.3
	p, err := stat.Steady{RidesAWeek: 1, RideShape: mean * mean / variance, RideHours: mean}.Passage(8)
	if err != nil {
		t.Fatal(err)
	}
	// Within 8 h are twenty whole jobs where it takes more than twenty to come beyond.
	low, high := 0.0, 1.0
	for range 50 {
		if q := (low + high) / 2; p.Rides(q) <= 20 {
			low = q
		} else {
			high = q
		}
	}
	if done := 1 - low; math.Abs(done-0.1075) > 0.01 || math.Abs(done-0.099980544) > 5e-4 {
		t.Errorf("done with %v", done)
	}
}

func BenchmarkPassage(b *testing.B) {
	for b.Loop() {
		p, err := stat.Pace{Rides: 10, Weeks: 4, RideShape: 4, RideHours: 2}.Passage(50)
		if low, middle, high := p.Quantile(0.1), p.Quantile(0.5), p.Quantile(0.9); err != nil || !(low < middle && middle < high) {
			b.Fatal(low, middle, high, err)
		}
	}
}
