package stat

import "fmt"

// Start is where R’s HoltWinters starts: flat at the first value, sloped at the
// second with the step to it, seasonal where the first two turns lead. Turn is
// how many values a turn of the seasons has, and no matter without any.
func (f Form) Start(y []float64, turn int) (Start, error) {
	need := map[Form]int{Flat: 1, Sloped: 2, Added: 2 * turn, Scaled: 2 * turn}[f]
	switch {
	case f.seasonal() && turn < 2:
		return Start{}, fmt.Errorf("a turn of %d seasons", turn)
	case len(y) < need:
		return Start{}, TooFew{Have: len(y), Need: need}
	case f == Flat:
		return Start{Level: y[0], From: 1}, f.refuse(y, Start{})
	case f == Sloped:
		return Start{Level: y[1], Trend: y[1] - y[0], From: 2}, f.refuse(y, Start{})
	}
	s := f.decompose(y[:2*turn], turn)
	return s, f.refuse(y, s)
}

// decompose takes two turns apart: a centred moving mean over a turn, a line
// through that, and what the values are beside the mean, season by season. The
// level is the line’s one step before the moving mean begins, as R has it.
func (f Form) decompose(y []float64, turn int) Start {
	half := turn / 2
	var trend []float64 // of the values since half
	for i := half; i+half < len(y); i++ {
		sum := 0.0
		for j := i - half; j <= i+half; j++ {
			sum += y[j]
		}
		if turn%2 == 0 { // the ends of the window are one season: half of each
			sum -= (y[i-half] + y[i+half]) / 2
		}
		trend = append(trend, sum/float64(turn))
	}
	s := Start{From: turn, Season: f.figures(y, trend, half, turn)}
	n := float64(len(trend))
	var sum, steep float64
	for i, v := range trend {
		sum += v
		steep += v * (float64(i+1) - (n+1)/2)
	}
	s.Trend = steep / (n * (n*n - 1) / 12)
	s.Level = sum/n - s.Trend*(n+1)/2
	return s
}

// figures are the seasons, which come to nothing over a turn: to 0, or to a
// mean of 1.
func (f Form) figures(y, trend []float64, half, turn int) []float64 {
	sums, counts := make([]float64, turn), make([]float64, turn)
	c := course{form: f}
	for i, v := range trend {
		at := (half + i) % turn
		sums[at] += c.without(y[half+i], v)
		counts[at]++
	}
	mean := 0.0
	for i := range sums {
		sums[i] /= counts[i]
		mean += sums[i] / float64(turn)
	}
	for i := range sums {
		sums[i] = c.without(sums[i], mean)
	}
	return sums
}
