package stat

import (
	"math"
	"testing"
)

// Source: arithmetic: a mixture of one, or of the same twice, is that one; of two it
// lies between them, and its chance at each quantile is the one asked for.
func TestMixture(t *testing.T) {
	near, err := Pace{Rides: 12, Weeks: 8, RideShape: 4, RideHours: 2}.Passage(20)
	if err != nil {
		t.Fatal(err)
	}
	far, err := Pace{Rides: 5, Weeks: 6, RideShape: 4, RideHours: 2}.Passage(35)
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range []float64{0.01, 0.1, 0.5, 0.9, 0.99} {
		want := near.Quantile(q)
		for _, m := range []Mixture{{{near, 1}}, {{near, 0.25}, {near, 0.75}}} {
			if got := m.Quantile(q); math.Abs(got/want-1) > 1e-8 {
				t.Errorf("of the same: within %v weeks with %v, want %v", got, q, want)
			}
		}
		m := Mixture{{near, 0.4}, {far, 0.6}}
		got := m.Quantile(q)
		if !(got > want && got < far.Quantile(q)) || math.Abs(0.4*near.By(got)+0.6*far.By(got)-q) > 1e-8 {
			t.Errorf("of two: within %v weeks with %v", got, q)
		}
	}
}

// Source: arithmetic: what is reached already with a third is so at once up to a third.
func TestMixtureOfWhatIsReached(t *testing.T) {
	pace := Pace{Rides: 12, Weeks: 8, RideShape: 4, RideHours: 2}
	reached, _ := pace.Passage(0)
	ahead, _ := pace.Passage(20)
	never, _ := Pace{Weeks: 1, RideShape: 4, RideHours: 2}.Passage(20)
	m := Mixture{{reached, 1.0 / 3}, {ahead, 1.0 / 3}, {never, 1.0 / 3}}
	if got := m.Quantile(0.3); got != 0 {
		t.Errorf("0.3: %v", got)
	}
	if got, want := m.Quantile(0.5), ahead.Quantile(0.5); math.Abs(got/want-1) > 1e-8 {
		t.Errorf("0.5: %v, want %v", got, want)
	}
	if got := m.Quantile(0.7); !math.IsInf(got, 1) {
		t.Errorf("0.7: %v", got)
	}
	if got := m.Quantile(1); !math.IsNaN(got) {
		t.Errorf("1: %v", got)
	}
}
