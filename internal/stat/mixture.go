package stat

import "math"

// Mixture is when hours come to a level for the first time where it is not known
// which of several passages is so; their weights sum up to 1.
type Mixture []Weighed

// Weighed is a passage and the chance that it is the one.
type Weighed struct {
	Passage
	Weight float64
}

// By is as that of Passage.
func (m Mixture) By(weeks float64) float64 {
	chance, _ := m.after(weeks)
	return 1 - chance
}

func (m Mixture) after(weeks float64) (chance, falls float64) {
	for _, p := range m {
		c, f := p.after(weeks)
		chance, falls = chance+p.Weight*c, falls+p.Weight*f
	}
	return chance, falls
}

// Quantile is as that of Passage.
func (m Mixture) Quantile(q float64) float64 {
	switch {
	case !(q > 0 && q < 1):
		return math.NaN()
	case m.By(0) >= q:
		return 0
	case m.By(never) < q:
		return math.Inf(1)
	}
	start := 0.0
	for _, p := range m {
		if rides, _ := p.needed(); p.rate > 0 {
			start += p.Weight * rides / p.rate
		}
	}
	return quantile(q, start, m.after)
}
