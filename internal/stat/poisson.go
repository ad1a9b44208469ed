package stat

import (
	"fmt"

	"gonum.org/v1/gonum/mathext"
)

// Poisson is the exact interval of how many are to be expected where k were
// counted, such as at level 0.95 (Garwood 1936). Divided by the time they were
// counted in it is one of their rate.
func Poisson(k int, level float64) (Interval, error) {
	switch {
	case k < 0:
		return Interval{}, fmt.Errorf("%d is no count", k)
	case inside("level", level) != nil:
		return Interval{}, inside("level", level)
	}
	beyond := (1 - level) / 2 // on each side
	i := Interval{High: mathext.GammaIncRegCompInv(float64(k+1), beyond)}
	if k > 0 {
		i.Low = mathext.GammaIncRegInv(float64(k), beyond)
	}
	return i, nil
}
