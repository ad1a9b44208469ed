package stat

import (
	"math"
	"slices"
)

// Weigh looks for the weights with which the squares of what one step before
// foretold sum up to the least: the best of a grid, then from there by the
// pattern search of Hooke and Jeeves (1961), which needs no slope and keeps to
// what weights may be. The same values always give the same weights.
func (f Form) Weigh(y []float64, s Start) (Weights, error) {
	if err := f.refuse(y, s); err != nil {
		return Weights{}, err
	}
	free := map[Form]int{Flat: 1, Sloped: 2, Added: 3, Scaled: 3}[f]
	if n := len(y) - s.From; n <= free {
		return Weights{}, TooFew{Have: n, Need: free + 1}
	}
	missed := func(w []float64) float64 {
		c, sum := f.course(weights(w), s), 0.0
		for _, v := range y[s.From:] {
			off := v - c.next(1)
			sum += off * off
			c.see(v)
		}
		if math.IsNaN(sum) {
			return math.Inf(1)
		}
		return sum
	}
	best, least := make([]float64, free), math.Inf(1)
	for _, w := range choices(free) {
		if sum := missed(w); sum < least {
			best, least = w, sum
		}
	}
	return weights(search(missed, best, least)), nil
}

func weights(w []float64) Weights {
	w = append(slices.Clone(w), 0, 0)
	return Weights{w[0], w[1], w[2]}
}

// choices is every choice of one of five weights for each of some.
func choices(free int) [][]float64 {
	all := [][]float64{nil}
	for range free {
		var longer [][]float64
		for _, x := range all {
			for _, w := range []float64{0.1, 0.3, 0.5, 0.7, 0.9} {
				longer = append(longer, append(slices.Clone(x), w))
			}
		}
		all = longer
	}
	return all
}

// search walks down from at, where it is least, between 0 and 1: a step along
// each axis where that leads lower, the same way once more while it does, and
// half the step where none leads lower.
func search(missed func([]float64) float64, at []float64, least float64) []float64 {
	const finest = 1e-7
	for step := 0.1; step > finest; {
		to, low := explore(missed, at, least, step)
		if low >= least {
			step /= 2
			continue
		}
		for low < least {
			ahead := make([]float64, len(at))
			for i := range at {
				ahead[i] = min(max(2*to[i]-at[i], 0), 1)
			}
			at, least = to, low
			to, low = explore(missed, ahead, missed(ahead), step)
		}
	}
	return at
}

// explore tries one step each way along each axis and keeps what leads lower.
func explore(missed func([]float64) float64, from []float64, least, step float64) ([]float64, float64) {
	at := slices.Clone(from)
	for i, was := range from {
		for _, try := range []float64{was + step, was - step} {
			at[i] = min(max(try, 0), 1)
			if sum := missed(at); sum < least {
				least, was = sum, at[i]
				break
			}
		}
		at[i] = was
	}
	return at, least
}
