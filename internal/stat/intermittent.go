package stat

import (
	"errors"
	"fmt"
)

// Demands is what comes now and then, such as asks for a part in weeks of which
// most have none: how much at a time, with what chance a week has one, and both
// together a week. All is 0 where nothing came yet.
type Demands struct{ Size, Chance, Rate float64 }

// Croston smooths what came at a time and the weeks from one time to the next,
// each by alpha at each time (Croston 1972). It starts with the first that
// came and the weeks to it, counted from the first week on. Its rate is too
// high in the long run, by up to alpha/2 of it.
func Croston(y []float64, alpha float64) (Demands, error) {
	return walkDemand(y, &croston{alpha: alpha, part: 1}, alpha)
}

// SBA is Croston with the rate 1 - alpha/2 of that, which takes out what it is
// too high by where most weeks have none (Syntetos & Boylan 2005). Where every
// week has some it is too low by as much.
func SBA(y []float64, alpha float64) (Demands, error) {
	return walkDemand(y, &croston{alpha: alpha, part: 1 - alpha/2}, alpha)
}

// TSB smooths the chance that a week has some in every week, so that it falls
// while nothing comes, and what came at a time by a weight of its own
// (Teunter, Syntetos & Babai 2011). Start is before the second week; without a
// Size it is the first that comes, with the chance of one in the weeks to it.
func TSB(y []float64, size, chance float64, start Demands) (Demands, error) {
	if !finite([]float64{start.Size, start.Chance}) || start.Size < 0 || start.Chance < 0 || start.Chance > 1 {
		return Demands{}, fmt.Errorf("a start with %v at a time and a chance of %v", start.Size, start.Chance)
	}
	walk := &tsb{bySize: size, byChance: chance, size: start.Size, chance: start.Chance}
	if start.Size > 0 && len(y) > 0 {
		if err := noDemand(y[:1]); err != nil {
			return Demands{}, err
		}
		y = y[1:]
		if len(y) == 0 {
			return walk.demands(), nil
		}
	}
	return walkDemand(y, walk, size, chance)
}

func walkDemand(y []float64, walk intermittent, weights ...float64) (Demands, error) {
	if len(y) == 0 {
		return Demands{}, TooFew{Need: 1}
	}
	for _, w := range weights {
		if !(w >= 0 && w <= 1) {
			return Demands{}, fmt.Errorf("weight %v: it has to lie from 0 to 1", w)
		}
	}
	if err := noDemand(y); err != nil {
		return Demands{}, err
	}
	for _, v := range y {
		walk.see(v)
	}
	return walk.demands(), nil
}

func noDemand(y []float64) error {
	if !finite(y) {
		return errNumber
	}
	for _, v := range y {
		if v < 0 {
			return errors.New("no demand lies below 0")
		}
	}
	return nil
}

// intermittent is one of the methods above on its way.
type intermittent interface {
	see(v float64)
	demands() Demands
}

type croston struct {
	alpha, part float64
	size, gap   float64
	since       float64 // weeks since the last that came
}

func (c *croston) see(v float64) {
	c.since++
	switch {
	case v == 0:
		return
	case c.size == 0:
		c.size, c.gap = v, c.since
	default:
		c.size += c.alpha * (v - c.size)
		c.gap += c.alpha * (c.since - c.gap)
	}
	c.since = 0
}

func (c *croston) demands() Demands {
	if c.size == 0 {
		return Demands{}
	}
	return Demands{Size: c.size, Chance: 1 / c.gap, Rate: c.next(1)}
}

func (c *croston) next(int) float64 {
	if c.size == 0 {
		return 0
	}
	return c.part * c.size / c.gap
}

type tsb struct {
	bySize, byChance float64
	size, chance     float64
	before           float64 // weeks without any, before the first that came
}

func (t *tsb) see(v float64) {
	switch {
	case t.size == 0 && v == 0:
		t.before++
	case t.size == 0:
		t.size, t.chance = v, 1/(t.before+1)
	case v == 0:
		t.chance -= t.byChance * t.chance
	default:
		t.size += t.bySize * (v - t.size)
		t.chance += t.byChance * (1 - t.chance)
	}
}

func (t *tsb) demands() Demands { return Demands{t.size, t.chance, t.next(1)} }

func (t *tsb) next(int) float64 { return t.size * t.chance }
