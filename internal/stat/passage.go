package stat

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Pace is how a rider rides: rides come by chance, each at a time of its own,
// at a rate that nobody knows, and are of lengths that differ.
type Pace struct {
	// The rate is held to be what Rides counted in Weeks say of it: gamma
	// distributed, with its mean at Rides/Weeks (see Rate). No rides at all are
	// a rate of none.
	Rides, Weeks float64
	// A ride is gamma distributed with that shape and a mean of so many hours.
	RideShape, RideHours float64
}

// Steady is Pace with a rate that is known.
type Steady struct{ RidesAWeek, RideShape, RideHours float64 }

// Passage is when a rider’s hours come to a level for the first time, in weeks
// from now: always with the end of a ride. Weeks are such as have the rider’s
// usual riding, so that it is for the caller to know of seasons.
type Passage struct {
	rate   float64 // mean rides a week
	differ float64 // squared coefficient of variation of the rate
	// short[k] is the chance that k rides do not come to the level. The last is
	// negligible; empty where it is reached already.
	short []float64
	// ways[k] is the logarithm of the product of (1+differ·j)/(j+1) over all j
	// below k: what the chance of k rides has in common for all times.
	ways []float64
}

const (
	// negligible chances are left out, each.
	negligible = 1e-13
	// mostNeeded is how many rides are reckoned one by one.
	mostNeeded = 1 << 18
	// never is how many weeks there are not.
	never = 1e9
)

// Passage is exact but for what is negligible. It fails where a figure cannot be,
// and where more than some 260,000 rides are needed.
func (p Pace) Passage(level float64) (Passage, error) {
	switch {
	case !(p.Rides >= 0 && p.Weeks > 0) || !finite([]float64{p.Rides, p.Weeks}):
		return Passage{}, fmt.Errorf("%v rides in %v weeks are no rate", p.Rides, p.Weeks)
	case p.Rides == 0:
		return passage(0, 0, p.RideShape, p.RideHours, level)
	}
	return passage(p.Rides/p.Weeks, 1/p.Rides, p.RideShape, p.RideHours, level)
}

// Passage is as that of Pace.
func (s Steady) Passage(level float64) (Passage, error) {
	if !(s.RidesAWeek >= 0) || !finite([]float64{s.RidesAWeek}) {
		return Passage{}, fmt.Errorf("%v rides a week are no rate", s.RidesAWeek)
	}
	return passage(s.RidesAWeek, 0, s.RideShape, s.RideHours, level)
}

func passage(rate, differ, shape, hours, level float64) (Passage, error) {
	p := Passage{rate: rate, differ: differ}
	switch {
	case !finite([]float64{shape, hours, level}):
		return Passage{}, errNumber
	case shape <= 0 || hours <= 0:
		return Passage{}, fmt.Errorf("rides of shape %v and %v h", shape, hours)
	case level <= 0:
		return p, nil
	}
	mean, variance := renewals(level, hours, hours*hours/shape)
	if mean+10*math.Sqrt(variance) > mostNeeded {
		return Passage{}, errors.New("it takes too many rides to reckon with")
	}
	p.short = notYet(shape, shape*level/hours, int(mean))
	p.ways = make([]float64, len(p.short))
	for j := range len(p.ways) - 1 {
		p.ways[j+1] = p.ways[j] + math.Log((1+differ*float64(j))/float64(j+1))
	}
	return p, nil
}

// renewals is about how many rides of such a length there are up to a level, by
// the central limit theorem for renewals.
func renewals(level, mean, variance float64) (count, countVariance float64) {
	return level / mean, level * variance / (mean * mean * mean)
}

// notYet is the chance that k rides of that shape stay below a level in units of
// their scale, for all k until it is negligible, reckoned from the middle outward.
func notYet(shape, level float64, middle int) []float64 {
	below := func(k int) float64 { return mathext.GammaIncRegComp(float64(k)*shape, level) }
	short := make([]float64, middle+1, 2*middle+16)
	for k := middle; k >= 0; k-- {
		if short[k] = 1; k > 0 {
			short[k] = 1 - below(k)
		}
		if short[k] > 1-negligible {
			for ; k >= 0; k-- {
				short[k] = 1
			}
		}
	}
	for k := middle + 1; short[k-1] > negligible; k++ {
		short = append(short, mathext.GammaIncReg(float64(k)*shape, level))
	}
	return short
}

// By is the chance that the level is reached within so many weeks.
func (p Passage) By(weeks float64) float64 {
	after, _ := p.after(weeks)
	return 1 - after
}

// after is the chance that the level is not reached within so many weeks, and
// how fast it falls then. The number of rides is negative binomial, or Poisson
// where the rate is known; its chances follow from each other, beginning with
// the greatest.
func (p Passage) after(weeks float64) (chance, falls float64) {
	expected := p.rate * max(weeks, 0)
	switch {
	case len(p.short) == 0:
		return 0, 0
	case expected == 0:
		return 1, 0
	}
	wider := 1 + p.differ*expected
	grow, none := expected/wider, -expected
	if p.differ > 0 {
		none = -math.Log1p(p.differ*expected) / p.differ
	}
	last := len(p.short) - 1
	start := last
	if mode := expected * (1 - p.differ); mode < float64(last) {
		start = max(int(mode), 0)
	}
	top := math.Exp(none + p.ways[start] + float64(start)*math.Log(grow))
	add := func(k int, w float64) {
		next := 0.0
		if k < last {
			next = p.short[k+1]
		}
		chance += w * p.short[k]
		falls += w * (1 + p.differ*float64(k)) * (p.short[k] - next)
	}
	for k, w := start, top; k <= last && w > negligible*negligible; k++ {
		add(k, w)
		w *= (1 + p.differ*float64(k)) / float64(k+1) * grow
	}
	for k, w := start, top; k > 0 && w > negligible*negligible; k-- {
		w *= float64(k) / ((1 + p.differ*float64(k-1)) * grow)
		add(k-1, w)
	}
	return min(chance, 1), falls * p.rate / wider
}

// Quantile is within how many weeks the level is reached with the chance q, from
// 0 to 1 with the ends excluded: +Inf where it may as well never be.
func (p Passage) Quantile(q float64) float64 {
	if !(q > 0 && q < 1) {
		return math.NaN()
	}
	if len(p.short) == 0 {
		return 0
	}
	if p.By(never) < q {
		return math.Inf(1)
	}
	rides, _ := p.needed()
	return quantile(q, rides/p.rate, p.after)
}

// quantile looks from a guess on for the weeks after which the chance is 1-q, by
// Newton’s steps in the logarithm of the time, kept between what is known to be
// too early and too late.
func quantile(q, guess float64, after func(weeks float64) (chance, falls float64)) float64 {
	x, low, high := math.Log(guess), math.Inf(-1), math.Log(never)
	for range 200 {
		weeks := math.Exp(x)
		chance, falls := after(weeks)
		over := chance - (1 - q)
		if over > 0 {
			low = x
		} else {
			high = x
		}
		step := max(-2, min(over/(falls*weeks), 2))
		if falls == 0 {
			step = math.Copysign(2, over)
		}
		if math.Abs(step) < 1e-11 {
			break
		}
		next := x + step
		if next <= low || next >= high {
			next = (low + high) / 2
		}
		x = next
	}
	return math.Exp(x)
}

// needed is the mean of how many rides it takes, and of that number times one
// more.
func (p Passage) needed() (mean, square float64) {
	for k, short := range p.short {
		mean += short
		square += 2 * float64(k+1) * short
	}
	return mean, square
}

// Rides is within how many rides the level is reached with the chance q, from 0
// to 1 with the ends excluded.
func (p Passage) Rides(q float64) int {
	for k, short := range p.short {
		if 1-short >= q {
			return k
		}
	}
	return len(p.short)
}

// MeanRides is how many rides it takes on average.
func (p Passage) MeanRides() float64 {
	mean, _ := p.needed()
	return mean
}

// Mean is how many weeks it takes on average: +Inf where less than one ride, or
// one, was counted for its rate.
func (p Passage) Mean() float64 {
	if len(p.short) == 0 {
		return 0
	}
	if p.rate == 0 || p.differ >= 1 {
		return math.Inf(1)
	}
	return p.MeanRides() / p.rate / (1 - p.differ)
}

// SD is the standard deviation of the weeks it takes: +Inf where less than two
// rides, or two, were counted for its rate.
func (p Passage) SD() float64 {
	if len(p.short) == 0 {
		return 0
	}
	if p.rate == 0 || p.differ >= 0.5 {
		return math.Inf(1)
	}
	_, square := p.needed()
	square /= p.rate * p.rate * (1 - p.differ) * (1 - 2*p.differ)
	return math.Sqrt(square - p.Mean()*p.Mean())
}
