package stat

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Count is K of N.
type Count struct{ K, N int }

// Expected is a share with its interval.
type Expected struct {
	Share float64
	Interval
}

// LeastGroups is how many groups Shrink takes: two differ by one number, which
// says next to nothing of how far groups lie apart.
const LeastGroups = 3

// Shrink is the share to expect of each group, drawn toward what all have in
// common: the more, the less was seen of it and the more alike they are. A group
// of which nothing was seen gets what they have in common.
//
// Shares are taken as drawn from one beta distribution, which nobody knows
// (Gelman and others, Bayesian Data Analysis, 5.3, with the prior proposed
// there), its a + b from 1 to 1000. The interval counts that in.
func Shrink(groups []Count, level float64) ([]Expected, error) {
	prior, err := commonOf(groups, level)
	if err != nil {
		return nil, err
	}
	list := make([]Expected, len(groups))
	for i, g := range groups {
		list[i] = prior.expected(g, level)
	}
	return list, nil
}

// Common is what the shares of several groups have in common, for those who ask
// of a few of the groups only: the limits of each are much of the work.
type Common struct{ prior mixture }

// CommonOf fails as Shrink does.
func CommonOf(groups []Count) (Common, error) {
	prior, err := commonOf(groups, 0.5)
	return Common{prior}, err
}

// Expected is what Shrink gives for one of the groups; level is as there.
func (c Common) Expected(g Count, level float64) Expected { return c.prior.expected(g, level) }

func commonOf(groups []Count, level float64) (mixture, error) {
	if err := inside("level", level); err != nil {
		return nil, err
	}
	seen := 0
	for _, g := range groups {
		if g.K < 0 || g.K > g.N {
			return nil, fmt.Errorf("%d of %d is no share", g.K, g.N)
		}
		if g.N > 0 {
			seen++
		}
	}
	if seen < LeastGroups {
		return nil, TooFew{Have: seen, Need: LeastGroups}
	}
	return common(groups, window{-logMost, logMost, 0, logMost}), nil
}

func (m mixture) expected(g Count, level float64) Expected {
	m = m.given(g)
	return Expected{m.mean(), Interval{m.quantile((1 - level) / 2), m.quantile((1 + level) / 2)}}
}

// logMost is the logarithm of the largest a + b: with more of them shares are as
// good as equal.
var logMost = math.Log(1000)

// weighted is a beta distribution and how likely it is.
type weighted struct{ a, b, weight float64 }

type mixture []weighted

// window is a part of the plane of log(a/b) and log(a+b).
type window struct{ left, right, low, high float64 }

// common is how likely each beta distribution is after all groups were seen, on
// a lattice laid over the part of the window that has any weight to speak of.
func common(groups []Count, w window) mixture {
	likely := w.narrowed(func(x, y float64) float64 { return logLikely(groups, x, y) })
	var m mixture
	total, top := 0.0, math.Inf(-1)
	likely.each(func(x, y float64) {
		log := logLikely(groups, x, y)
		top = max(top, log)
		a, b := shapes(x, y)
		m = append(m, weighted{a, b, log})
	})
	for i := range m {
		m[i].weight = math.Exp(m[i].weight - top)
		total += m[i].weight
	}
	for i := range m {
		m[i].weight /= total
	}
	return m
}

// lattice is the number of points along one side: a share and its limits are
// within 0.002 of what 400 give.
const lattice = 24

// each visits the middles of the cells of a lattice.
func (w window) each(visit func(x, y float64)) {
	dx, dy := (w.right-w.left)/lattice, (w.high-w.low)/lattice
	for i := range lattice {
		for j := range lattice {
			visit(w.left+(float64(i)+0.5)*dx, w.low+(float64(j)+0.5)*dy)
		}
	}
}

// narrowed closes in on where a density is more than a hundred-thousandth of its
// highest, which may be a small part of the window.
func (w window) narrowed(log func(x, y float64) float64) window {
	const slight = 11.5
	for range 6 {
		top := math.Inf(-1)
		w.each(func(x, y float64) { top = max(top, log(x, y)) })
		dx, dy := (w.right-w.left)/lattice, (w.high-w.low)/lattice
		n := window{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}
		w.each(func(x, y float64) {
			if log(x, y) < top-slight {
				return
			}
			n.left, n.right = min(n.left, x-dx), max(n.right, x+dx)
			n.low, n.high = min(n.low, y-dy), max(n.high, y+dy)
		})
		n = window{max(n.left, w.left), min(n.right, w.right), max(n.low, w.low), min(n.high, w.high)}
		same := n == w
		if w = n; same {
			break
		}
	}
	return w
}

func shapes(x, y float64) (a, b float64) {
	sum := math.Exp(y)
	a = sum / (1 + math.Exp(-x))
	return a, sum / (1 + math.Exp(x))
}

// logLikely is the logarithm of the density of log(a/b) and log(a+b) after all
// groups were seen, but for a constant; before, that of a and b goes with
// (a+b)^-5/2.
func logLikely(groups []Count, x, y float64) float64 {
	a, b := shapes(x, y)
	log := math.Log(a) + math.Log(b) - 2.5*y
	none := mathext.Lbeta(a, b)
	for _, g := range groups {
		if g.N > 0 {
			log += mathext.Lbeta(a+float64(g.K), b+float64(g.N-g.K)) - none
		}
	}
	return log
}

// given is what is known of a group that is among those the mixture was made
// from.
func (m mixture) given(g Count) mixture {
	var seen mixture
	for _, c := range m {
		if c.weight > 1e-6 {
			seen = append(seen, weighted{c.a + float64(g.K), c.b + float64(g.N-g.K), c.weight})
		}
	}
	return seen
}

func (m mixture) mean() float64 {
	sum, total := 0.0, 0.0
	for _, c := range m {
		sum, total = sum+c.weight*c.a/(c.a+c.b), total+c.weight
	}
	return sum / total
}

// quantile is the share below which the part p of the mixture lies.
func (m mixture) quantile(p float64) float64 {
	total := 0.0
	for _, c := range m {
		total += c.weight
	}
	low, high := 0.0, 1.0
	for range 20 {
		middle, below := (low+high)/2, 0.0
		for _, c := range m {
			below += c.weight * mathext.RegIncBeta(c.a, c.b, middle)
		}
		if below < p*total {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}
