// Package airspring is the arithmetic of air springs: what a gauge reads when it
// is colder or higher up, and how force grows with travel. Pressures are gauge
// pressures in Pa unless they are called absolute, lengths in m, volumes in m³,
// forces in N, temperatures in °C. Air is an ideal gas throughout.
package airspring

import (
	"fmt"
	"math"
)

// SeaLevel is the standard pressure of the air around, in Pa absolute.
const SeaLevel = 101325

const kelvin = 273.15

// US Standard Atmosphere 1976: the troposphere, up to 11 km geopotential.
const (
	earthRadius = 6356766  // m, of that standard
	lapse       = 0.0065   // K per m
	seaKelvin   = 288.15   // K
	exponent    = 5.255876 // g₀M/(R* lapse), with the constants of that standard
)

// Around is the pressure of the air at a height above sea level in m, Pa
// absolute, as US Standard Atmosphere 1976 has it: weather changes it by some
// hundredths.
func Around(height float64) (float64, error) {
	if !(height >= -500 && height <= 11000) {
		return 0, fmt.Errorf("height %v m: it has to lie between -500 and 11000", height)
	}
	geopotential := earthRadius * height / (earthRadius + height)
	return SeaLevel * math.Pow(1-lapse*geopotential/seaKelvin, exponent), nil
}

// Place is where a pressure is read.
type Place struct {
	Temperature float64 // of the air in the spring, °C
	Height      float64 // above sea level, m
}

func (p Place) check() error {
	if !(p.Temperature >= -60 && p.Temperature <= 150) {
		return fmt.Errorf("temperature %v °C: it has to lie between -60 and 150", p.Temperature)
	}
	return nil
}

// Moved is what the gauge reads at another place on a spring that was set to
// gauge at the first one, nothing let in or out and its volume as it was.
func Moved(gauge float64, from, to Place) (float64, error) {
	if err := pressure("pressure", gauge); err != nil {
		return 0, err
	}
	for _, p := range []Place{from, to} {
		if err := p.check(); err != nil {
			return 0, err
		}
	}
	before, err := Around(from.Height)
	if err != nil {
		return 0, err
	}
	after, err := Around(to.Height)
	if err != nil {
		return 0, err
	}
	return Heated(gauge+before, from.Temperature, to.Temperature, 1) - after, nil
}

// Heated is an absolute pressure after the gas went from one temperature to
// another and its volume became so many times smaller.
func Heated(absolute, from, to, squeeze float64) float64 {
	return absolute * squeeze * (to + kelvin) / (from + kelvin)
}

// Squeezed is an absolute pressure after the volume became so many times
// smaller, by pVⁿ: n is 1 where heat has time to leave, up to 1.4 where it has
// none.
func Squeezed(absolute, squeeze, n float64) float64 { return absolute * math.Pow(squeeze, n) }

// Work is what it takes, in J, to squeeze gas from an absolute pressure and
// volume to another volume by pVⁿ; below zero for what it gives when it grows.
func Work(absolute, from, to, n float64) float64 {
	x := math.Log(from / to) // (exp((n-1)x) - 1)/(n-1), which is x at n = 1
	if m := (n - 1) * x; math.Abs(m) > 1e-12 {
		x *= math.Expm1(m) / m
	}
	return absolute * from * x
}

func pressure(name string, p float64) error {
	if !(p >= 0 && p <= 1e7) {
		return fmt.Errorf("%s %v Pa: it has to lie between 0 and 1e7", name, p)
	}
	return nil
}
