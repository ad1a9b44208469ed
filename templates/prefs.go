package templates

import (
	"cmp"
	"strings"
	"time"

	"damperdesk/internal/customer"
	"damperdesk/internal/money"
	"damperdesk/internal/quantity"
)

// Prefs is how the shop, or one of its customers, reads quantities, times and
// money. A zero unit means the first one offered for its kind, a nil zone UTC.
type Prefs struct {
	TorqueUnit, VolumeUnit, PressureUnit, MassUnit quantity.Unit
	Zone                                           *time.Location
	Currency                                       string // ISO 4217
	Days                                           string // one of customer.DayOrders; the first where it is empty
	Clock12                                        bool   // "5:00 pm", not "17:00"
	Comma                                          bool   // begins decimals, where else a point does
}

// For is how a customer reads what the shop writes to them: what they chose over the
// shop's own. Pages, calendars and mails to a customer are written with it.
func (p Prefs) For(w customer.Way) Prefs {
	p.PressureUnit = cmp.Or(quantity.Unit(w.Pressure), p.PressureUnit)
	p.MassUnit = cmp.Or(quantity.Unit(w.Mass), p.MassUnit)
	p.TorqueUnit = cmp.Or(quantity.Unit(w.Torque), p.TorqueUnit)
	p.Days = cmp.Or(w.Days, p.Days)
	if w.Clock != "" {
		p.Clock12 = w.Clock == "12"
	}
	if w.Decimals != "" {
		p.Comma = w.Decimals == "comma"
	}
	return p
}

// decimals writes the marks within a number that was printed with a decimal point.
func (p Prefs) decimals(printed string) string {
	if !p.Comma {
		return printed
	}
	return customer.WithComma(printed)
}

// Unit is the shop's unit for a kind of quantity.
func (p Prefs) Unit(kind quantity.Kind) quantity.Unit {
	unit := map[quantity.Kind]quantity.Unit{
		quantity.KindTorque:   p.TorqueUnit,
		quantity.KindVolume:   p.VolumeUnit,
		quantity.KindPressure: p.PressureUnit,
		quantity.KindMass:     p.MassUnit,
	}[kind]
	if unit == "" {
		unit = firstUnit(kind)
	}
	return unit
}

func firstUnit(kind quantity.Kind) quantity.Unit {
	if units := quantity.Units(kind); len(units) > 0 {
		return units[0]
	}
	return ""
}

// OtherUnit is the unit that stands beside the shop's own, for a tool or a
// gauge marked the other way; empty where there is no usual one.
func (p Prefs) OtherUnit(kind quantity.Kind) quantity.Unit {
	own := p.Unit(kind)
	switch kind {
	case quantity.KindTorque:
		if own != quantity.NewtonMetre {
			return quantity.NewtonMetre
		}
		return quantity.PoundForceInch
	case quantity.KindPressure:
		if own != quantity.PSI {
			return quantity.PSI
		}
		return quantity.Bar
	}
	return ""
}

// Quantity is an SI value in the shop's unit: "7.3 N·m".
func (p Prefs) Quantity(kind quantity.Kind, si float64) string {
	return p.decimals(quantity.Format(kind, si, p.Unit(kind)))
}

// Number is Quantity without its unit, for a field or a big figure that states
// the unit beside it.
func (p Prefs) Number(kind quantity.Kind, si float64) string {
	return p.decimals(quantity.FormatNumber(kind, si, p.Unit(kind)))
}

func (p Prefs) Torque(nm float64) string   { return p.Quantity(quantity.KindTorque, nm) }
func (p Prefs) Volume(m3 float64) string   { return p.Quantity(quantity.KindVolume, m3) }
func (p Prefs) Pressure(pa float64) string { return p.Quantity(quantity.KindPressure, pa) }
func (p Prefs) Mass(kg float64) string     { return p.Quantity(quantity.KindMass, kg) }

// Window is a range in the shop's unit: "6.8 to 7.8 N·m".
func (p Prefs) Window(kind quantity.Kind, low, high float64) string {
	return p.decimals(WindowIn(kind, low, high, p.Unit(kind)))
}

// WindowIn is a range in one unit, said once: "60 to 69 lbf·in".
func WindowIn(kind quantity.Kind, low, high float64, unit quantity.Unit) string {
	upper := quantity.Format(kind, high, unit)
	if quantity.FormatNumber(kind, low, unit) == quantity.FormatNumber(kind, high, unit) {
		return upper
	}
	return strings.Replace(quantity.FormatNumber(kind, low, unit), "-", "−", 1) + " to " + upper
}

// Money is an amount of minor units: "£150.00". Without a code it is in the
// shop's currency.
func (p Prefs) Money(minor int64, code string) string {
	if code == "" {
		code = p.Currency
	}
	return p.decimals(money.Format(minor, code))
}
