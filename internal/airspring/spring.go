package airspring

import (
	"errors"
	"fmt"
	"math"
)

// Spring is an air spring with a positive chamber that travel squeezes and a
// negative one behind the piston that it lets grow. They are of one bore; Area
// is that of the piston, the shaft taken off on the side of the negative chamber.
type Spring struct {
	Area     float64 // m²
	Negative float64 // m², the piston less the shaft; 0: no negative chamber
	Travel   float64 // m
	// Column and NegativeColumn are how long the chambers are at full extension,
	// their volumes over their areas; spacers not taken off.
	Column, NegativeColumn float64
	Spacer                 float64 // volume of all spacers together
	// Equal is the travel at which the chambers are joined, so that both have the
	// pressure that was pumped in.
	Equal float64
	// TopOut is the stiffness in N/m of a spring that the last TopOutLength of
	// extension presses together; 0: none.
	TopOut, TopOutLength float64
}

// The exponents of a squeeze: slow, as when a rider sits on it, and a hit.
const (
	Slow = 1.0
	Hit  = 1.35 // between 1.3 and 1.4: common practice (no source)
)

// check names the first length or area that cannot be.
func (s Spring) check() error {
	above := func(x float64) bool { return x > 0 && !math.IsInf(x, 0) }
	notBelow := func(x float64) bool { return x >= 0 && !math.IsInf(x, 0) }
	switch {
	case !above(s.Area):
		return fmt.Errorf("area %v m²: it lies above zero", s.Area)
	case !notBelow(s.Negative):
		return fmt.Errorf("area of the negative chamber %v m²: it is not below zero", s.Negative)
	case !above(s.Travel):
		return fmt.Errorf("travel %v m: it lies above zero", s.Travel)
	case !notBelow(s.Spacer) || !(s.length() > s.Travel) || math.IsInf(s.Column, 0):
		return fmt.Errorf("column %v m with spacers of %v m³: it is longer than the travel, %v m", s.Column, s.Spacer, s.Travel)
	case s.Negative > 0 && !above(s.NegativeColumn):
		return fmt.Errorf("column of the negative chamber %v m: it lies above zero", s.NegativeColumn)
	case !(s.Equal >= 0 && s.Equal < s.Travel):
		return fmt.Errorf("travel where the chambers meet %v m: it is not below zero and less than the travel, %v m", s.Equal, s.Travel)
	case !notBelow(s.TopOut) || !notBelow(s.TopOutLength):
		return errors.New("top-out spring: its stiffness and length are not below zero")
	}
	return nil
}

// length is the column without what the spacers fill.
func (s Spring) length() float64 { return s.Column - s.Spacer/s.Area }

// Charged is a spring with air in it.
type Charged struct {
	Spring
	gauge, around, n float64
}

// Charge pumps gauge pressure into the spring where the chambers are joined. n is
// the exponent of what comes after, between 1 and 1.4; around is the absolute
// pressure of the air.
func (s Spring) Charge(gauge, around, n float64) (Charged, error) {
	if err := s.check(); err != nil {
		return Charged{}, err
	}
	if err := pressure("pressure", gauge); err != nil {
		return Charged{}, err
	}
	if !(around > 0 && around <= 2*SeaLevel) {
		return Charged{}, fmt.Errorf("pressure of the air around %v Pa: it lies above 0 and at most at %v", around, 2*SeaLevel)
	}
	if !(n >= 1 && n <= 1.4) {
		return Charged{}, fmt.Errorf("exponent %v: it lies between 1 and 1.4", n)
	}
	return Charged{s, gauge, around, n}, nil
}

// Positive and Below are the gauge pressures of the two chambers at a travel.
func (c Charged) Positive(x float64) float64 {
	return Squeezed(c.gauge+c.around, (c.length()-c.Equal)/(c.length()-x), c.n) - c.around
}

func (c Charged) Below(x float64) float64 {
	return Squeezed(c.gauge+c.around, (c.NegativeColumn+c.Equal)/(c.NegativeColumn+x), c.n) - c.around
}

// Force is what it takes to hold the spring at a travel; below zero where the
// negative chamber and the top-out spring pull it in.
func (c Charged) Force(x float64) float64 {
	f := c.Area*c.Positive(x) - c.topOut(x)*c.TopOut
	if c.Negative > 0 {
		f -= c.Negative * c.Below(x)
	}
	return f
}

// topOut is how far the top-out spring is pressed together.
func (s Spring) topOut(x float64) float64 { return max(0, s.TopOutLength-x) }

// Stiffness is how fast the force grows, in N/m.
func (c Charged) Stiffness(x float64) float64 {
	k := c.n * c.Area * (c.Positive(x) + c.around) / (c.length() - x)
	if c.Negative > 0 {
		k += c.n * c.Negative * (c.Below(x) + c.around) / (c.NegativeColumn + x)
	}
	if c.topOut(x) > 0 {
		k += c.TopOut
	}
	return k
}

// Energy is what it takes, in J, to press the spring from full extension to a
// travel.
func (c Charged) Energy(x float64) float64 {
	work := Work(c.Positive(0)+c.around, c.Area*c.length(), c.Area*(c.length()-x), c.n) - c.around*c.Area*x
	if c.Negative > 0 {
		work += Work(c.Below(0)+c.around, c.Negative*c.NegativeColumn, c.Negative*(c.NegativeColumn+x), c.n) + c.around*c.Negative*x
	}
	return work - c.TopOut/2*(c.topOut(0)*c.topOut(0)-c.topOut(x)*c.topOut(x))
}

// BottomOut is the force at full travel.
func (c Charged) BottomOut() float64 { return c.Force(c.Travel) }

// Sag is the travel at which the spring holds a load in N: 0 where it holds it
// fully extended, the whole travel where it cannot.
func (c Charged) Sag(load float64) (float64, error) {
	if !(load >= 0) || math.IsInf(load, 0) {
		return 0, fmt.Errorf("load %v N: it is not below zero", load)
	}
	return bisect(func(x float64) bool { return c.Force(x) >= load }, 0, c.Travel), nil
}

// bisect is the least value from low to high that is enough, given that all
// above it are; high where none is.
func bisect(enough func(float64) bool, low, high float64) float64 {
	if enough(low) {
		return low
	}
	for range 200 {
		middle := low + (high-low)/2
		if middle <= low || middle >= high {
			break
		}
		if enough(middle) {
			high = middle
		} else {
			low = middle
		}
	}
	return high
}

// gain is by how much the force at a travel grows with each Pa that is pumped in.
func (s Spring) gain(x float64) float64 {
	g := s.Area * (s.length() - s.Equal) / (s.length() - x)
	if s.Negative > 0 {
		g -= s.Negative * (s.NegativeColumn + s.Equal) / (s.NegativeColumn + x)
	}
	return g
}

// Pressure is the gauge pressure at which a load in N sags to a travel, slowly.
func (s Spring) Pressure(load, sag, around float64) (float64, error) {
	held, rest, err := s.needs(load, sag, around)
	if err != nil {
		return 0, err
	}
	if held+rest < 0 {
		return 0, fmt.Errorf("sag %v m: without any air it holds more than %v N there", sag, load)
	}
	return held + rest, nil
}

// needs is the pressure in two parts: what holds the load and the top-out spring,
// and what the air around takes off it, which is the same at any size of spring.
// Together they may be below zero.
func (s Spring) needs(load, sag, around float64) (held, rest float64, err error) {
	if !(load > 0) || math.IsInf(load, 0) {
		return 0, 0, fmt.Errorf("load %v N: it lies above zero", load)
	}
	if !(sag > 0 && sag < s.Travel) {
		return 0, 0, fmt.Errorf("sag %v m: it lies above zero and below the travel, %v m", sag, s.Travel)
	}
	empty, err := s.Charge(0, around, Slow)
	if err != nil {
		return 0, 0, err
	}
	g := s.gain(sag)
	if !(g > 0) {
		return 0, 0, fmt.Errorf("sag %v m: there the negative chamber holds whatever is pumped in", sag)
	}
	pressed := s.TopOut * s.topOut(sag)
	return (load + pressed) / g, -(empty.Force(sag) + pressed) / g, nil
}
