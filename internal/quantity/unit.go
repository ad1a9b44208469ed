package quantity

import (
	"fmt"
	"math"
	"slices"
)

// Unit is a unit of measurement, by the text the database stores and people
// read. The zero Unit means none.
type Unit string

const (
	NewtonMetre             Unit = "N·m"
	PoundForceInch          Unit = "lbf·in"
	PoundForceFoot          Unit = "lbf·ft"
	KilogramForceCentimetre Unit = "kgf·cm"

	Millilitre         Unit = "mL"
	Litre              Unit = "L"
	FluidOunce         Unit = "fl oz" // US
	ImperialFluidOunce Unit = "imp fl oz"

	PSI        Unit = "psi"
	Bar        Unit = "bar"
	Kilopascal Unit = "kPa"

	Celsius    Unit = "°C"
	Fahrenheit Unit = "°F"
	Kelvin     Unit = "K"

	Kilogram Unit = "kg"
	Gram     Unit = "g"
	Pound    Unit = "lb"
	Stone    Unit = "st"

	Millimetre Unit = "mm"
	Centimetre Unit = "cm"
	Metre      Unit = "m"
	Inch       Unit = "in"

	SquareMillimetrePerSecond Unit = "mm²/s"
	Centistokes               Unit = "cSt"

	NewtonPerMillimetre        Unit = "N/mm"
	PoundForcePerInch          Unit = "lbf/in"
	KilogramForcePerMillimetre Unit = "kgf/mm"
)

// The base constants of NIST SP 811, Appendix B.8, and the two gallons. All
// are exact, and so are their products: the compiler multiplies them as
// rational numbers.
const (
	inch           = 0.0254          // m
	foot           = 12 * inch       // m
	pound          = 0.45359237      // kg
	gravity        = 9.80665         // m/s²
	poundForce     = pound * gravity // N
	usGallon       = 231 * inch * inch * inch
	imperialGallon = 0.00454609 // m³
)

// scale is one unit: si = (number + offset) × num / den. Powers of ten stand
// in den so that 10 mL is exactly 1e-5 m³.
type scale struct {
	unit     Unit
	kind     Kind
	offset   float64
	num, den float64
	step     float64 // one press of a stepper
	shown    float64 // rounding when printed
	fine     float64 // rounding when the number is under below
	below    float64
	aliases  string // as typed, after squeeze, beside the unit's own text
}

// scales lists the units in the order they are offered.
var scales = []scale{
	{unit: NewtonMetre, kind: KindTorque, num: 1, den: 1, step: 0.1, shown: 0.1,
		aliases: "newtonmetre newtonmetres newtonmeter newtonmeters"},
	{unit: PoundForceInch, kind: KindTorque, num: poundForce * inch, den: 1, step: 1, shown: 1,
		aliases: "lbin lbsin inlbf inlb inlbs in/lb in/lbs in/lbf lbinch lbfinch inchlb inchlbs inchlbf inchpound inchpounds poundinch poundinches poundforceinch"},
	{unit: PoundForceFoot, kind: KindTorque, num: poundForce * foot, den: 1, step: 0.5, shown: 0.5,
		aliases: "lbft lbsft ftlbf ftlb ftlbs ft/lb ft/lbs ft/lbf lbfoot lbffoot footlb footlbs footlbf footpound footpounds poundfoot poundfeet poundforcefoot"},
	{unit: KilogramForceCentimetre, kind: KindTorque, num: gravity, den: 100, step: 1, shown: 1,
		aliases: "kgcm cmkgf cmkg kpcm"},

	{unit: Millilitre, kind: KindVolume, num: 1, den: 1e6, step: 0.5, shown: 1, fine: 0.1, below: 100,
		aliases: "mls cc ccs ccm cm3 millilitre millilitres milliliter milliliters"},
	{unit: Litre, kind: KindVolume, num: 1, den: 1e3, step: 0.01, shown: 0.01,
		aliases: "ltr litre litres liter liters"},
	{unit: FluidOunce, kind: KindVolume, num: usGallon / 128, den: 1, step: 0.05, shown: 0.01,
		aliases: "oz usfloz usoz floz(us) fluidounce fluidounces ounce ounces"},
	{unit: ImperialFluidOunce, kind: KindVolume, num: imperialGallon / 160, den: 1, step: 0.05, shown: 0.01,
		aliases: "impoz imperialfloz ukfloz floz(imp) floz(uk)"},

	{unit: PSI, kind: KindPressure, num: poundForce / (inch * inch), den: 1, step: 1, shown: 1,
		aliases: "psig lbf/in2 lb/in2 lbs/in2 lbf/sqin lb/sqin"},
	{unit: Bar, kind: KindPressure, num: 1e5, den: 1, step: 0.05, shown: 0.05,
		aliases: "bars barg"},
	{unit: Kilopascal, kind: KindPressure, num: 1e3, den: 1, step: 1, shown: 1,
		aliases: "kilopascal kilopascals"},

	{unit: Celsius, kind: KindTemperature, offset: 273.15, num: 1, den: 1, step: 0.5, shown: 0.5,
		aliases: "degc ℃ celsius centigrade"},
	{unit: Fahrenheit, kind: KindTemperature, offset: 459.67, num: 5, den: 9, step: 1, shown: 1,
		aliases: "degf ℉ fahrenheit"},
	{unit: Kelvin, kind: KindTemperature, num: 1, den: 1, step: 0.5, shown: 0.5,
		aliases: "kelvin kelvins"},

	{unit: Kilogram, kind: KindMass, num: 1, den: 1, step: 0.1, shown: 0.1,
		aliases: "kgs kilo kilos kilogram kilograms kilogramme kilogrammes"},
	{unit: Gram, kind: KindMass, num: 1, den: 1e3, step: 1, shown: 1,
		aliases: "gr grams gram gramme grammes"},
	{unit: Pound, kind: KindMass, num: pound, den: 1, step: 1, shown: 1,
		aliases: "lbs lbf pound pounds"},
	{unit: Stone, kind: KindMass, num: 14 * pound, den: 1, step: 0.1, shown: 0.1,
		aliases: "stone stones"},

	{unit: Millimetre, kind: KindLength, num: 1, den: 1e3, step: 1, shown: 1, fine: 0.01, below: 1,
		aliases: "mms millimetre millimetres millimeter millimeters"},
	{unit: Centimetre, kind: KindLength, num: 1, den: 100, step: 0.1, shown: 0.1, fine: 0.001, below: 0.1,
		aliases: "cms centimetre centimetres centimeter centimeters"},
	{unit: Metre, kind: KindLength, num: 1, den: 1, step: 0.001, shown: 0.001, fine: 0.00001, below: 0.001,
		aliases: "metre metres meter meters"},
	{unit: Inch, kind: KindLength, num: 127, den: 5000, step: 0.05, shown: 0.01, fine: 0.001, below: 0.1,
		aliases: "\" ins inch inches"},

	{unit: SquareMillimetrePerSecond, kind: KindViscosity, num: 1, den: 1e6, step: 0.1, shown: 0.1,
		aliases: "mm2s1"},
	{unit: Centistokes, kind: KindViscosity, num: 1, den: 1e6, step: 0.1, shown: 0.1,
		aliases: "csts centistoke centistokes"},

	{unit: NewtonPerMillimetre, kind: KindSpringRate, num: 1e3, den: 1, step: 0.1, shown: 0.1,
		aliases: "npermm"},
	{unit: PoundForcePerInch, kind: KindSpringRate, num: poundForce / inch, den: 1, step: 1, shown: 1,
		aliases: "lb/in lbs/in lb/inch lbs/inch lbf/inch lbperin lbsperin lbsperinch poundsperinch"},
	{unit: KilogramForcePerMillimetre, kind: KindSpringRate, num: gravity * 1e3, den: 1, step: 0.01, shown: 0.01,
		aliases: "kg/mm kgs/mm kp/mm"},
}

// scaleOf finds a unit of a kind.
func scaleOf(kind Kind, unit Unit) (scale, error) {
	i := slices.IndexFunc(scales, func(s scale) bool { return s.unit == unit && s.kind == kind })
	if i < 0 {
		return scale{}, fmt.Errorf("quantity: %q is not a unit of %q", unit, kind)
	}
	return scales[i], nil
}

// Kind is what the unit measures; empty for a unit that is not known.
func (u Unit) Kind() Kind {
	for _, s := range scales {
		if s.unit == u {
			return s.kind
		}
	}
	return ""
}

// Units lists the units of a kind, the usual ones first.
func Units(kind Kind) []Unit {
	var units []Unit
	for _, s := range scales {
		if s.kind == kind {
			units = append(units, s.unit)
		}
	}
	return units
}

// Step is the increment of a stepper in that unit: what a hand can set, which
// may be coarser than what is printed (0.5 mL, printed to 0.1 mL). It is 0 for
// a unit that is not known.
func Step(unit Unit) float64 {
	for _, s := range scales {
		if s.unit == unit {
			return s.step
		}
	}
	return 0
}

// StepAt is Step for a number of that size: never finer than it is printed there
// (1 mL from 100 mL on), and what is printed where one step would leave next to
// nothing of it (0.01 mm of a play of 0.3 mm).
func StepAt(unit Unit, number float64) float64 {
	for _, s := range scales {
		switch {
		case s.unit != unit:
		case number >= s.below:
			return max(s.step, s.shown)
		case number < 2*s.step:
			return s.fine
		default:
			return s.step
		}
	}
	return 0
}

// Convert turns an SI value into a number in unit, not rounded. It is NaN when
// the unit does not measure the kind.
func Convert(kind Kind, si float64, unit Unit) float64 {
	s, err := scaleOf(kind, unit)
	if err != nil {
		return math.NaN()
	}
	return s.number(si)
}

// FromUnit turns a number in unit into SI. A number that the kind cannot have
// (not finite, below zero, below absolute zero) is a *ParseError; a unit that
// does not measure the kind is an ordinary error, since no person typed it.
func FromUnit(kind Kind, number float64, unit Unit) (float64, error) {
	s, err := scaleOf(kind, unit)
	if err != nil {
		return 0, err
	}
	si := s.si(number)
	if math.IsNaN(si) || math.IsInf(si, 0) {
		return 0, refuse(kind, "", "That is not a number: type %s.", kind.example())
	}
	if si < 0 {
		return 0, refuse(kind, "", "%s", belowZero(kind))
	}
	return si, nil
}

func belowZero(kind Kind) string {
	switch kind {
	case KindTemperature:
		return "That is colder than absolute zero: check the number and its unit."
	case KindPressure:
		return "A gauge pressure cannot be below zero: type 0 or more, such as 82 psi."
	}
	return fmt.Sprintf("%s cannot be below zero: type %s.", capital(wordings[kind].noun), kind.example())
}

func (s scale) si(number float64) float64 {
	return (number+s.offset)*s.num/s.den + 0 // + 0 makes a negative zero plain
}

func (s scale) number(si float64) float64 {
	return si*s.den/s.num - s.offset
}
