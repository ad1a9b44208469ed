// Package oil is the arithmetic of damper fluids and lubricating oils: viscosity
// index, viscosity at a temperature, blends and grades. Viscosities are
// kinematic, in mm²/s (which is cSt); temperatures are in °C.
package oil

import (
	"fmt"
	"math"
	"sort"
)

const (
	kelvin = 273.15
	// thinnest is the least viscosity that the rules here hold for: ASTM D2270
	// ends there, ASTM D341 needs further terms below it.
	thinnest = 2
	// thickest is the most that ASTM D341 speaks of.
	thickest = 2e7
)

func known(name string, v float64) error {
	if !(v >= thinnest && v <= thickest) {
		return fmt.Errorf("%s %.7g mm²/s: it has to lie between %d and %d", name, v, thinnest, int(thickest))
	}
	return nil
}

// Index is the viscosity index of an oil with viscosity v40 at 40 °C and v100 at
// 100 °C: ASTM D2270, procedure A up to 100, B above, not rounded.
func Index(v40, v100 float64) (float64, error) {
	if err := known("viscosity at 100 °C", v100); err != nil {
		return 0, err
	}
	if err := known("viscosity at 40 °C", v40); err != nil {
		return 0, err
	}
	if v40 <= v100 {
		return 0, fmt.Errorf("viscosity at 40 °C %v mm²/s: it has to be above that at 100 °C, %v", v40, v100)
	}
	l, h := references(v100)
	if v40 >= h {
		return 100 * (l - v40) / (l - h), nil
	}
	n := math.Log10(h/v40) / math.Log10(v100)
	return math.Expm1(n*math.Ln10)/0.00715 + 100, nil
}

// Report rounds a viscosity index as ASTM D2270 reports it: whole, ties to even.
func Report(index float64) int { return int(math.RoundToEven(index)) }

// references are L and H: by the table, linear between its rows, by the formulas
// above 70 mm²/s.
func references(v100 float64) (l, h float64) {
	last := len(tableL) - 1
	if v100 >= tableAt(last) {
		return (0.8353*v100+14.67)*v100 - 216, (0.1684*v100+11.85)*v100 - 97
	}
	i := sort.Search(last, func(i int) bool { return tableAt(i+1) > v100 })
	part := (v100 - tableAt(i)) / (tableAt(i+1) - tableAt(i))
	return tableL[i] + part*(tableL[i+1]-tableL[i]), tableH[i] + part*(tableH[i+1]-tableH[i])
}

// Line is how the viscosity of an oil goes with temperature, ASTM D341:
// log₁₀ log₁₀(v + 0.7) = A - B log₁₀ T, T in kelvin.
type Line struct{ A, B float64 }

func walther(v float64) float64 { return math.Log10(math.Log10(v + 0.7)) }

func unwalther(w float64) float64 { return math.Pow(10, math.Pow(10, w)) - 0.7 }

// Through is the line through two measured points, the warmer one thinner.
func Through(t1, v1, t2, v2 float64) (Line, error) {
	if t1 > t2 {
		t1, v1, t2, v2 = t2, v2, t1, v1
	}
	for _, p := range []struct{ t, v float64 }{{t1, v1}, {t2, v2}} {
		if err := temperature(p.t); err != nil {
			return Line{}, err
		}
		if err := known(fmt.Sprintf("viscosity at %v °C", p.t), p.v); err != nil {
			return Line{}, err
		}
	}
	switch {
	case t2-t1 < 1:
		return Line{}, fmt.Errorf("temperatures %v and %v °C: they have to lie at least a degree apart", t1, t2)
	case v2 >= v1:
		return Line{}, fmt.Errorf("viscosity at %v °C, %v mm²/s: it has to be below that at %v °C, %v", t2, v2, t1, v1)
	}
	b := (walther(v1) - walther(v2)) / math.Log10((t2+kelvin)/(t1+kelvin))
	return Line{A: walther(v1) + b*math.Log10(t1+kelvin), B: b}, nil
}

func temperature(t float64) error {
	if !(t >= -60 && t <= 200) {
		return fmt.Errorf("temperature %v °C: it has to lie between -60 and 200", t)
	}
	return nil
}

// At is the viscosity at a temperature, where it is one that the rule holds for.
func (l Line) At(t float64) (float64, error) {
	if err := temperature(t); err != nil {
		return 0, err
	}
	v := unwalther(l.A - l.B*math.Log10(t+kelvin))
	switch {
	case !(v >= thinnest):
		return 0, fmt.Errorf("temperature %v °C: the oil is thinner there than %d mm²/s, where the rule ends", t, thinnest)
	case v > thickest:
		return 0, fmt.Errorf("temperature %v °C: the oil is thicker there than %d mm²/s, where the rule ends", t, int(thickest))
	}
	return v, nil
}

// grades are the midpoints of ISO 3448, each good to a tenth either way.
var grades = []float64{2.2, 3.2, 4.6, 6.8, 10, 15, 22, 32, 46, 68, 100, 150, 220, 320, 460, 680, 1000, 1500}

// Grade is the ISO viscosity grade of an oil by its viscosity at 40 °C; ok is
// false between two grades, where there is none (ISO 3448). The grade is its
// midpoint as it is written, but the four lightest, whose names are whole.
func Grade(v40 float64) (vg int, ok bool) {
	const noise = 1e-9
	for _, mid := range grades {
		if v40 >= 0.9*mid*(1-noise) && v40 <= 1.1*mid*(1+noise) {
			return int(math.Round(mid)), true
		}
	}
	return 0, false
}
