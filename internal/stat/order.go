package stat

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Costs are what an order costs, what one piece costs that lies there, and what
// one costs that is missing, the last two for as long as the demand is for, or
// once where it comes once. All are in one currency.
type Costs struct{ Order, Hold, Short float64 }

func (c Costs) refuse(needed ...float64) error {
	for _, v := range needed {
		if !(v > 0) || math.IsInf(v, 0) {
			return fmt.Errorf("%v: a cost or demand that has to lie above 0", v)
		}
	}
	return nil
}

// EOQ is how many to order at a time where rate pieces are used up evenly and
// none may be missing, and what that costs (Harris 1913). Hold is for the time
// that rate is for.
func (c Costs) EOQ(rate float64) (q, cost float64, err error) {
	if err := c.refuse(c.Order, c.Hold, rate); err != nil {
		return 0, 0, err
	}
	q = math.Sqrt(2 * c.Order * rate / c.Hold)
	return q, c.Batch(q, rate), nil
}

// Batch is what it costs to order q at a time, q above 0.
func (c Costs) Batch(q, rate float64) float64 { return c.Order*rate/q + c.Hold*q/2 }

// target is the share of demand that is worth meeting: the critical ratio of
// the newsvendor.
func (c Costs) target() (float64, error) {
	return c.Short / (c.Short + c.Hold), c.refuse(c.Hold, c.Short)
}

// Normal is how many to have where demand comes once and is normal, and what is
// then to be expected of cost.
func (c Costs) Normal(mean, sd float64) (s, cost float64, err error) {
	target, err := c.target()
	if err != nil {
		return 0, 0, err
	}
	if s, err = NormalLevel(mean, sd, target); err != nil {
		return 0, 0, err
	}
	return s, (c.Hold + c.Short) * sd * distuv.UnitNormal.Prob(distuv.UnitNormal.Quantile(target)), nil
}

// Uniform is Normal where demand is anything from low to high, none likelier.
func (c Costs) Uniform(low, high float64) (s, cost float64, err error) {
	target, err := c.target()
	if err != nil {
		return 0, 0, err
	}
	if !finite([]float64{low, high}) || low > high {
		return 0, 0, fmt.Errorf("a demand from %v to %v", low, high)
	}
	wide := high - low
	return low + target*wide, wide / 2 * (c.Hold*target*target + c.Short*(1-target)*(1-target)), nil
}

// Pieces is Normal where demand is counted.
func (c Costs) Pieces(d Demand) (s int, cost float64, err error) {
	target, err := c.target()
	if err != nil {
		return 0, 0, err
	}
	if s, err = d.Level(target); err != nil {
		return 0, 0, err
	}
	return s, c.At(d, s), nil
}

// At is what is to be expected of cost with s pieces against d.
func (c Costs) At(d Demand, s int) float64 { return c.Hold*d.Left(s) + c.Short*d.Short(s) }

// mostAtOnce is how many pieces at a time RQ looks at.
const mostAtOnce = 1_000_000

// RQ is the reorder point and the pieces to order at a time with the least cost,
// and that cost, for demand d until an order has come and rate in the time that
// Hold and Short are for, where what is missing waits: the exact search of
// Federgruen and Zheng (1992), which widens the range of stock toward the
// cheaper side while that lowers the mean.
func (c Costs) RQ(d Demand, rate float64) (r, q int, cost float64, err error) {
	if err := c.refuse(c.Order, rate); err != nil {
		return 0, 0, 0, err
	}
	low, least, err := c.Pieces(d)
	if err != nil {
		return 0, 0, 0, err
	}
	sum := c.Order*rate + least
	cost, q = sum, 1
	below, above := c.At(d, low-1), c.At(d, low+1)
	for min(below, above) < cost {
		if q == mostAtOnce {
			return 0, 0, 0, errors.New("an order costs too much beside what holding a piece does")
		}
		q++
		sum += min(below, above)
		if below <= above {
			low--
			below = c.At(d, low-1)
		} else {
			above = c.At(d, low+q)
		}
		cost = sum / float64(q)
	}
	return low - 1, q, cost, nil
}

// RQAt is what reorder point r with q pieces at a time costs, q above 0.
func (c Costs) RQAt(d Demand, rate float64, r, q int) float64 {
	sum := c.Order * rate
	for s := r + 1; s <= r+q; s++ {
		sum += c.At(d, s)
	}
	return sum / float64(q)
}
