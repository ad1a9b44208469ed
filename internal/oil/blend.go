package oil

import (
	"errors"
	"fmt"
	"math"
)

// Part is a share of a blend by what its Rule counts. Shares are of one another:
// 2 and 1 are two thirds and a third.
type Part struct {
	V     float64 // mm²/s, all at one temperature
	Share float64
}

// Rule is a way to reckon the viscosity of a blend: an index that mixes by
// shares, and its inverse.
type Rule struct {
	Name           string
	index, inverse func(float64) float64
}

var (
	// Refutas mixes by mass: VBN = 14.534 ln ln(v + 0.8) + 10.975 (Maples,
	// Petroleum Refinery Process Economics, 2000).
	Refutas = Rule{"Refutas", func(v float64) float64 { return 14.534*math.Log(math.Log(v+0.8)) + 10.975 },
		func(i float64) float64 { return math.Exp(math.Exp((i-10.975)/14.534)) - 0.8 }}
	// Walther mixes by volume what ASTM D341 is linear in: the ASTM method of
	// ASTM D7152.
	Walther = Rule{"ASTM D7152", walther, unwalther}
)

// Blend is the viscosity of a mixture of two oils or more.
func (r Rule) Blend(parts []Part) (float64, error) {
	if len(parts) < 2 {
		return 0, fmt.Errorf("%d oils: it takes two to blend", len(parts))
	}
	sum, whole := 0.0, 0.0
	low, high := math.Inf(1), 0.0
	for i, p := range parts {
		if err := known(fmt.Sprintf("viscosity of oil %d", i+1), p.V); err != nil {
			return 0, err
		}
		if !(p.Share >= 0) || math.IsInf(p.Share, 0) {
			return 0, fmt.Errorf("share of oil %d, %v: it has to be zero or above", i+1, p.Share)
		}
		sum, whole = sum+p.Share*r.index(p.V), whole+p.Share
		low, high = min(low, p.V), max(high, p.V)
	}
	if whole == 0 {
		return 0, errors.New("shares: one at least has to lie above zero")
	}
	return min(max(r.inverse(sum/whole), low), high), nil
}

// Thin is the share, 0 to 1, of the thinner of two oils in a blend of the wanted
// viscosity, which has to lie between theirs.
func (r Rule) Thin(thin, thick, want float64) (float64, error) {
	for _, v := range []struct {
		name string
		v    float64
	}{{"viscosity of the thin oil", thin}, {"viscosity of the thick oil", thick}, {"wanted viscosity", want}} {
		if err := known(v.name, v.v); err != nil {
			return 0, err
		}
	}
	switch {
	case thin >= thick:
		return 0, fmt.Errorf("viscosity of the thin oil %v mm²/s: it has to be below that of the thick one, %v", thin, thick)
	case want < thin || want > thick:
		return 0, fmt.Errorf("wanted viscosity %v mm²/s: these two can make from %v to %v", want, thin, thick)
	}
	return (r.index(thick) - r.index(want)) / (r.index(thick) - r.index(thin)), nil
}
