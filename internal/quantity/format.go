package quantity

import (
	"math"
	"strconv"
	"strings"
)

const (
	noBreakSpace = "\u00a0"
	minusSign    = "−"
	notANumber   = "?"
)

// Format prints a number and its unit, held together by no-break spaces, as in
// "7.3 N·m", rounded to what the tool in the hand can show:
//
//	torque       0.1 N·m, 1 lbf·in, 0.5 lbf·ft, 1 kgf·cm
//	volume       0.1 mL under 100 mL, else 1 mL; 0.01 L; 0.01 fl oz
//	pressure     1 psi, 0.05 bar, 1 kPa
//	temperature  0.5 °C, 1 °F, 0.5 K
//	mass         0.1 kg, 1 g, 1 lb; stones print as "11 st 9 lb"
//	length       0.01 mm under 1 mm (wear), else 1 mm; 0.001 in under 0.1 in,
//	             else 0.01 in; centimetres and metres as millimetres
//	viscosity    0.1 mm²/s, 0.1 cSt
//	spring rate  0.1 N/mm, 1 lbf/in, 0.01 kgf/mm
//
// Halves round away from zero, judged on the decimal number to 12 significant
// digits, so that 0.25 N·m prints as 0.3 whatever its binary form. Zeros that
// end the decimals are left out: 10 mL, not 10.0 mL.
//
// A unit that does not measure the kind gives way to the kind's first unit, so
// that what is shown is always true. A value that is not finite prints as "?".
func Format(kind Kind, si float64, unit Unit) string {
	s := scaleFor(kind, unit)
	if s.unit == Stone {
		return stonesAndPounds(si)
	}
	return withUnit(s.print(si), s.unit)
}

// FormatDown prints as Format does, but never more than there is: what is shown
// of the most that is allowed is allowed. Stones are decimal.
func FormatDown(kind Kind, si float64, unit Unit) string {
	return scaleFor(kind, unit).towards(si, math.Floor)
}

// FormatUp never prints less than there is.
func FormatUp(kind Kind, si float64, unit Unit) string {
	return scaleFor(kind, unit).towards(si, math.Ceil)
}

// FormatNumber prints as Format does, without the unit and with a plain
// hyphen for minus: fit for a form field that states its unit beside it.
// Stones are decimal, to 0.1 st.
func FormatNumber(kind Kind, si float64, unit Unit) string {
	return scaleFor(kind, unit).print(si)
}

// FormatStep is Format with the rounding step given, in unit, for a tool with
// a graduation of its own: a diameter by micrometer to 0.01 mm. A step that is
// not above zero means the usual one. Stones are decimal.
func FormatStep(kind Kind, si float64, unit Unit, step float64) string {
	s := scaleFor(kind, unit)
	if !(step > 0) {
		return Format(kind, si, unit)
	}
	return withUnit(decimal(s.number(si), step), s.unit)
}

// scaleFor is the scale of the unit, else of the kind's first unit. A kind
// that is not known has none, and prints the bare SI number.
func scaleFor(kind Kind, unit Unit) scale {
	if s, err := scaleOf(kind, unit); err == nil {
		return s
	}
	for _, s := range scales {
		if s.kind == kind {
			return s
		}
	}
	return scale{num: 1, den: 1, shown: 0.001}
}

func (s scale) print(si float64) string {
	number := s.number(si)
	if math.Abs(number) < s.below {
		return decimal(number, s.fine)
	}
	return decimal(number, s.shown)
}

// towards prints what the whole steps are that round makes of a value.
func (s scale) towards(si float64, round func(float64) float64) string {
	number, step := s.number(si), s.shown
	if math.Abs(number) < s.below {
		step = s.fine
	}
	return withUnit(decimal(round(significant(number/step))*step, step), s.unit)
}

// decimal prints number rounded to a multiple of step, half away from zero.
func decimal(number, step float64) string {
	rounded := math.Round(significant(number/step)) * step
	if math.IsNaN(rounded) || math.IsInf(rounded, 0) {
		return notANumber
	}
	_, decimals, _ := strings.Cut(strconv.FormatFloat(step, 'f', -1, 64), ".")
	text := strconv.FormatFloat(rounded, 'f', len(decimals), 64)
	if decimals != "" {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if text == "-0" {
		return "0"
	}
	return text
}

// significant drops the binary noise of a conversion, past 12 digits, so that
// a half is seen as a half.
func significant(x float64) float64 {
	clean, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 12, 64), 64)
	if err != nil {
		return x
	}
	return clean
}

func stonesAndPounds(si float64) string {
	text := decimal(scaleFor(KindMass, Pound).number(si), 1)
	pounds, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return withUnit(text, Stone)
	}
	whole, rest := math.Floor(pounds/14), math.Mod(pounds, 14)
	stones := withUnit(strconv.FormatFloat(whole, 'f', 0, 64), Stone)
	if rest == 0 {
		return stones
	}
	return stones + noBreakSpace + withUnit(strconv.FormatFloat(rest, 'f', 0, 64), Pound)
}

func withUnit(number string, unit Unit) string {
	text := strings.Replace(number, "-", minusSign, 1)
	if unit == "" {
		return text
	}
	return text + noBreakSpace + strings.ReplaceAll(string(unit), " ", noBreakSpace)
}
