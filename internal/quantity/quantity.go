// Package quantity reads and prints the measured quantities of the bench.
// Inside, every quantity is a float64 in its coherent SI unit; outside, it is
// a number and a unit as a mechanic types them.
//
// Pressure is always gauge pressure. Converting it applies a factor and never
// adds an atmosphere.
package quantity

import "fmt"

// Kind names what is measured. Its text is what the database stores.
type Kind string

const (
	KindTorque      Kind = "torque"
	KindVolume      Kind = "volume"
	KindPressure    Kind = "pressure"
	KindTemperature Kind = "temperature"
	KindMass        Kind = "mass"
	KindLength      Kind = "length"
	KindViscosity   Kind = "viscosity"
	KindSpringRate  Kind = "spring_rate"
)

// wording is how a kind is spoken of in a message to a person.
type wording struct{ noun, example string }

var wordings = map[Kind]wording{
	KindTorque:      {"a torque", "7.3 N·m"},
	KindVolume:      {"a volume", "10 mL"},
	KindPressure:    {"a pressure", "82 psi"},
	KindTemperature: {"a temperature", "20 °C"},
	KindMass:        {"a weight", "74 kg"},
	KindLength:      {"a length", "150 mm"},
	KindViscosity:   {"a viscosity", "15 mm²/s"},
	KindSpringRate:  {"a spring rate", "9.5 N/mm"},
}

// Torque is in newton metres.
type Torque float64

// Volume is in cubic metres.
type Volume float64

// Pressure is gauge pressure in pascals.
type Pressure float64

// Temperature is in kelvin.
type Temperature float64

// Mass is in kilograms.
type Mass float64

// Length is in metres.
type Length float64

// Viscosity is kinematic, in square metres per second.
type Viscosity float64

// SpringRate is in newtons per metre.
type SpringRate float64

func (Torque) Kind() Kind      { return KindTorque }
func (Volume) Kind() Kind      { return KindVolume }
func (Pressure) Kind() Kind    { return KindPressure }
func (Temperature) Kind() Kind { return KindTemperature }
func (Mass) Kind() Kind        { return KindMass }
func (Length) Kind() Kind      { return KindLength }
func (Viscosity) Kind() Kind   { return KindViscosity }
func (SpringRate) Kind() Kind  { return KindSpringRate }

// Quantity is any of the eight typed quantities.
type Quantity interface {
	~float64
	Kind() Kind
}

// Of makes a typed quantity from a number in a unit, under the rules of
// FromUnit.
func Of[Q Quantity](number float64, unit Unit) (Q, error) {
	var q Q
	si, err := FromUnit(q.Kind(), number, unit)
	return Q(si), err
}

// In is q as a number in unit; NaN when the unit measures something else.
func In[Q Quantity](q Q, unit Unit) float64 {
	return Convert(q.Kind(), float64(q), unit)
}

// Value is a quantity as a person entered it.
type Value struct {
	SI      float64
	Unit    Unit   // the unit typed, else the default
	Entered string // what was typed, without the spaces around it
}

// As turns a parsed value into its typed quantity; it fails when the value is
// of another kind.
func As[Q Quantity](v Value) (Q, error) {
	var q Q
	if v.Unit.Kind() != q.Kind() {
		return 0, fmt.Errorf("quantity: a value in %q is not %s", v.Unit, q.Kind())
	}
	return Q(v.SI), nil
}
