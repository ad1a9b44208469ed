package stat

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Demand is how many pieces are asked for in some time, such as until an order
// that is placed now or at the next review has come: Poisson, or negative
// binomial where the variance is greater than the mean, with just these two.
type Demand struct {
	mean float64
	// Negative binomial: failures before the r-th success, each with chance q,
	// which keeps its digits where it is small. r is 0 for Poisson.
	r, q float64
}

// alike is the part of the mean by which a variance may be greater and still be
// taken for it: no chance differs by more then, and nearer than that rounding
// would cost the beta integral as much.
const alike = 1e-6

// DemandOf takes the variance for the mean where it is less: a Poisson demand
// is the narrowest there is.
func DemandOf(mean, variance float64) (Demand, error) {
	switch {
	case !finite([]float64{mean, variance}):
		return Demand{}, errNumber
	case mean < 0 || variance < 0:
		return Demand{}, fmt.Errorf("a demand of %v with a variance of %v", mean, variance)
	case mean > 1e6:
		return Demand{}, fmt.Errorf("a demand of %v is more than is counted", mean)
	case variance <= mean*(1+alike):
		return Demand{mean: mean}, nil
	case mean == 0:
		return Demand{}, errors.New("a demand of none has no variance")
	}
	return Demand{mean: mean, r: mean * mean / (variance - mean), q: (variance - mean) / variance}, nil
}

// OverLead is the mean and the variance of demand over a time that is uncertain
// itself, each in the unit of time that mean and variance of demand are for.
// Demand of one unit of time tells nothing of that of another, or of the time.
func OverLead(mean, variance, lead, leadVariance float64) (m, v float64, err error) {
	all := []float64{mean, variance, lead, leadVariance}
	if !finite(all) {
		return 0, 0, errNumber
	}
	for _, x := range all {
		if x < 0 {
			return 0, 0, fmt.Errorf("%v: neither demand nor the time to wait lies below 0", x)
		}
	}
	return mean * lead, lead*variance + mean*mean*leadVariance, nil
}

// AtMost is the chance that no more than s are asked for.
func (d Demand) AtMost(s int) float64 {
	switch {
	case s < 0:
		return 0
	case d.mean == 0:
		return 1
	case d.r == 0:
		return mathext.GammaIncRegComp(float64(s)+1, d.mean)
	}
	return 1 - mathext.RegIncBeta(float64(s)+1, d.r, d.q)
}

// Ready is the share of time that one lies there where each that goes is
// ordered again at once and the level is s: fewer than s are on their way.
func (d Demand) Ready(s int) float64 { return d.AtMost(s - 1) }

// Level is the reorder point: the least s with AtMost(s) at least target.
func (d Demand) Level(target float64) (int, error) {
	if err := inside("target", target); err != nil {
		return 0, err
	}
	low, high := -1, 0 // too few, and enough
	for d.AtMost(high) < target {
		low, high = high, 2*high+1
		if high > math.MaxInt32 {
			return 0, fmt.Errorf("no level is enough for %v", target)
		}
	}
	for high-low > 1 {
		if middle := (low + high) / 2; d.AtMost(middle) < target {
			low = middle
		} else {
			high = middle
		}
	}
	return high, nil
}

// Short is how many are expected to be asked for beyond s: they wait, or they
// are lost.
func (d Demand) Short(s int) float64 {
	if s < 0 {
		return d.mean - float64(s)
	}
	if d.mean == 0 {
		return 0
	}
	// Of those asked for where more than s are, the mean is the mean of all
	// times the chance that s or more are asked for by the same distribution,
	// or by that with one success more.
	k := float64(s)
	if d.r == 0 {
		beyond := mathext.GammaIncReg(k+1, d.mean)
		reached := 1.0
		if s > 0 {
			reached = mathext.GammaIncReg(k, d.mean)
		}
		return max(d.mean*reached-k*beyond, 0)
	}
	beyond := mathext.RegIncBeta(k+1, d.r, d.q)
	reached := 1.0
	if s > 0 {
		reached = mathext.RegIncBeta(k, d.r+1, d.q)
	}
	return max(d.mean*reached-k*beyond, 0)
}

// Left is how many of s are expected to be left.
func (d Demand) Left(s int) float64 { return float64(s) - d.mean + d.Short(s) }

// NormalLevel is the level that demand stays below with the chance target where
// it is normal, as of what is measured rather than counted.
func NormalLevel(mean, sd, target float64) (float64, error) {
	if err := inside("target", target); err != nil {
		return 0, err
	}
	if !finite([]float64{mean, sd}) || sd < 0 {
		return 0, fmt.Errorf("a demand of %v with a standard deviation of %v", mean, sd)
	}
	return mean + sd*distuv.UnitNormal.Quantile(target), nil
}
