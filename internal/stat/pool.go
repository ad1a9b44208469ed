package stat

import (
	"errors"
	"math"
)

// Mean is what was seen of a group: a mean, and the variance of that mean.
type Mean struct{ Value, Var float64 }

// Pooled is what groups have in common, how far they lie apart, and the mean to
// expect of each.
type Pooled struct {
	Common  float64
	Between float64 // variance between groups
	Drawn   []float64
}

// LeastMeans is how many groups Pool takes: with three the share that it draws
// by is none.
const LeastMeans = 4

// Pool draws the mean of each group toward what all have in common, the more
// the less certain it is and the more alike the groups are. Their variance is
// that of Paule and Mandel (1982), the share by which each is drawn that of
// Morris (1983), which for groups of one variance is Efron and Morris (1975).
func Pool(groups []Mean) (Pooled, error) {
	if len(groups) < LeastMeans {
		return Pooled{}, TooFew{Have: len(groups), Need: LeastMeans}
	}
	for _, g := range groups {
		if !finite([]float64{g.Value, g.Var}) || g.Var <= 0 {
			return Pooled{}, errors.New("a group has no mean or no variance above 0")
		}
	}
	k := float64(len(groups))
	p := Pooled{Between: between2(groups)}
	p.Common, _ = weigh(groups, p.Between)
	for _, g := range groups {
		share := (k - 3) / (k - 1) * g.Var / (g.Var + p.Between)
		p.Drawn = append(p.Drawn, g.Value+share*(p.Common-g.Value))
	}
	return p, nil
}

// between2 is the variance between groups with which their squared distances,
// each in its own variance, sum up to one less than there are groups; 0 where
// they lie closer than that.
func between2(groups []Mean) float64 {
	excess := func(between float64) float64 {
		_, sum := weigh(groups, between)
		return sum - float64(len(groups)-1)
	}
	if excess(0) <= 0 {
		return 0
	}
	low, high := 0.0, 1.0
	for excess(high) > 0 {
		high *= 2
	}
	for range 200 {
		if middle := (low + high) / 2; excess(middle) > 0 {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}

// weigh is the mean of groups weighed by their variance, and the sum of their
// squared distances from it.
func weigh(groups []Mean, between float64) (mean, sum float64) {
	total := 0.0
	for _, g := range groups {
		w := 1 / (g.Var + between)
		mean, total = mean+w*g.Value, total+w
	}
	mean /= total
	for _, g := range groups {
		sum += math.Pow(g.Value-mean, 2) / (g.Var + between)
	}
	return mean, sum
}

// Toward is the mean of n values drawn toward what was held before any was seen,
// which counts as much as prior values do: Bühlmann's credibility n/(n+k).
func Toward(mean float64, n int, before, prior float64) float64 {
	return before + float64(n)/(float64(n)+prior)*(mean-before)
}
