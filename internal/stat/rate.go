package stat

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Rate is what is known of how many rides a week there are: as much as Rides
// that were counted in Weeks say. What is held before anything is counted is as
// if it had been: both are a gamma distribution of shape Rides and rate Weeks.
type Rate struct{ Rides, Weeks float64 }

// And adds what was counted besides, which draws a rider with few weeks toward
// what all have in common (gamma and Poisson are conjugate).
func (r Rate) And(more Rate) Rate { return Rate{r.Rides + more.Rides, r.Weeks + more.Weeks} }

// Mean is the rides a week.
func (r Rate) Mean() float64 { return r.Rides / r.Weeks }

const (
	// LeastRiders is how many riders say how far riders differ. With less the
	// likelihood is flat: of eight the spread is still uncertain by half.
	LeastRiders = 8
	// mostShape is as good as riders who are all alike, leastShape as far apart
	// as is believed.
	leastShape, mostShape = 0.1, 1000.0
)

// CommonRate is what the rates of all riders have in common, from what was
// counted of each: a gamma distribution by the greatest marginal likelihood, in
// which counts are negative binomial. Riders no further apart than chance has
// them come out with the shape 1000.
func CommonRate(riders []Rate) (Rate, error) {
	var seen []Rate
	rides := 0.0
	for _, r := range riders {
		if !finite([]float64{r.Rides, r.Weeks}) || r.Rides < 0 || r.Weeks < 0 {
			return Rate{}, fmt.Errorf("%v rides in %v weeks are no count", r.Rides, r.Weeks)
		}
		if r.Weeks > 0 {
			seen, rides = append(seen, r), rides+r.Rides
		}
	}
	switch {
	case len(seen) < LeastRiders:
		return Rate{}, TooFew{Have: len(seen), Need: LeastRiders}
	case rides == 0:
		return Rate{}, errors.New("nobody of them rides")
	}
	shape := likeliestShape(seen)
	return Rate{shape, shape / likeliestMean(seen, shape)}, nil
}

// likeliestShape looks along the shapes, each with the mean that suits it best,
// for where the likelihood stops to rise.
func likeliestShape(riders []Rate) float64 {
	const steps = 60
	at := func(i float64) float64 { return leastShape * math.Pow(mostShape/leastShape, i/steps) }
	best, top := 0, math.Inf(-1)
	for i := range steps + 1 {
		shape := at(float64(i))
		if log := logCounts(riders, shape, likeliestMean(riders, shape)); log > top {
			best, top = i, log
		}
	}
	low, high := max(0, float64(best-1)), min(steps, float64(best+1))
	for range 50 {
		middle := (low + high) / 2
		if shape := at(middle); rises(riders, shape, likeliestMean(riders, shape)) {
			low = middle
		} else {
			high = middle
		}
	}
	return at((low + high) / 2)
}

// likeliestMean is the root of the derivative by the mean, which falls.
func likeliestMean(riders []Rate, shape float64) float64 {
	low, high := math.Inf(1), 0.0
	for _, r := range riders {
		low, high = min(low, r.Mean()), max(high, r.Mean())
	}
	for range 60 {
		middle, sum := (low+high)/2, 0.0
		for _, r := range riders {
			sum += (r.Rides - middle*r.Weeks) / (shape + middle*r.Weeks)
		}
		if sum > 0 {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}

// logCounts is the logarithm of the chance of all counts, but for a constant.
func logCounts(riders []Rate, shape, mean float64) float64 {
	log := 0.0
	none, _ := math.Lgamma(shape)
	for _, r := range riders {
		expected := mean * r.Weeks / shape
		some, _ := math.Lgamma(shape + r.Rides)
		log += some - none + r.Rides*math.Log(expected) - (shape+r.Rides)*math.Log1p(expected)
	}
	return log
}

// rises reports whether that likelihood rises with the shape.
func rises(riders []Rate, shape, mean float64) bool {
	sum := 0.0
	for _, r := range riders {
		expected := mean * r.Weeks
		sum += mathext.Digamma(shape+r.Rides) - mathext.Digamma(shape) - math.Log1p(expected/shape) + (expected-r.Rides)/(shape+expected)
	}
	return sum > 0
}

// Rode is the pace once it is known that hours were ridden in so many weeks, of
// which nobody counted the rides: they may have been few long ones or many short
// ones. What is held of the rate then is a mixture of gamma distributions; it is
// given as the one of its mean and variance.
func (p Pace) Rode(hours, weeks float64) (Pace, error) {
	switch {
	case !finite([]float64{hours, weeks}) || hours < 0 || weeks <= 0:
		return Pace{}, fmt.Errorf("%v h in %v weeks", hours, weeks)
	case !finite([]float64{p.Rides, p.Weeks, p.RideShape, p.RideHours}) || !(p.Rides > 0 && p.Weeks > 0 && p.RideShape > 0 && p.RideHours > 0):
		return Pace{}, fmt.Errorf("%+v is no pace", p)
	case hours/p.RideHours > mostNeeded/2:
		return Pace{}, errors.New("it takes too many rides to reckon with")
	}
	mean, variance := p.ridesIn(hours, weeks)
	rides, total := p.Rides+mean, p.Weeks+weeks
	p.Rides = rides * rides / (rides + variance)
	p.Weeks = total * p.Rides / rides
	return p, nil
}

// ridesIn is the mean and the variance of how many rides the hours were.
func (p Pace) ridesIn(hours, weeks float64) (mean, variance float64) {
	if hours == 0 {
		return 0, 0
	}
	scaled := math.Log(hours * p.RideShape / p.RideHours)
	some := math.Log(weeks / (p.Weeks + weeks))
	log := func(n int) float64 {
		k := float64(n)
		held, _ := math.Lgamma(p.Rides + k)
		ways, _ := math.Lgamma(k + 1)
		length, _ := math.Lgamma(k * p.RideShape)
		return held - ways + k*some + k*p.RideShape*scaled - length
	}
	// It has one top, of which the hours over their mean are a good guess.
	top := max(1, int(hours/p.RideHours))
	for log(top+1) > log(top) {
		top++
	}
	for top > 1 && log(top-1) > log(top) {
		top--
	}
	sum, first, second := 0.0, 0.0, 0.0
	add := func(n int) bool {
		w, off := math.Exp(log(n)-log(top)), float64(n-top)
		sum, first, second = sum+w, first+w*off, second+w*off*off
		return w > negligible
	}
	for n := top; add(n); n++ {
	}
	for n := top - 1; n > 0 && add(n); n-- {
	}
	first /= sum
	return float64(top) + first, second/sum - first*first
}
