package spec

import (
	"strings"

	"damperdesk/internal/quantity"
)

// Keys is everything a spec sheet can state, in the order it is shown. The
// ranges are common practice (no source); the maker's document governs.
var Keys = []Key{
	torque("foot bolt", "Foot bolt or nut", 5, 10, 3, 15).at("foot", ""),
	torque("air top cap", "Top cap over the spring, metal", 20, 30, 8, 45).at("top", "spring"),
	torque("top cap", "Top cap, plastic or small", 3, 8, 1, 15).at("top", "spring"),
	torque("damper cap", "Damper cap", 20, 30, 8, 45).at("top", "damper"),
	torque("damper seal head", "Damper seal head", 8, 25, 3, 40).at("stanchion", "damper"),
	torque("shaft fastener", "Piston or shaft fastener", 3, 8, 1, 12).at("stanchion", "damper"),
	torque("crown pinch", "Crown pinch bolts, two crowns", 5, 10, 4, 15).noJudgement().at("crown", "").only(TwoCrowns),
	torque("stem", "Stem on steerer", 4, 7, 3, 10).noJudgement().at("steerer", ""),
	torque("axle", "Axle, threaded", 9, 15, 5, 20).noJudgement().at("axle", ""),
	torque("axle pinch", "Axle pinch bolt", 3, 6, 2, 10).noJudgement().at("axle", ""),
	torque("brake caliper", "Brake caliper", 6, 10, 5, 12).at("lower", ""),
	torque("knob screw", "Knob or set screw", 0.5, 1.5, 0.2, 3).at("knob", ""),
	torque("bleed screw", "Bleed screw", 0.5, 2, 0.3, 4).at("top", "damper"),
	torque("air can", "Air can of a rear shock", 5, 20, 1, 45).only("rear shock"),
	torque("shock bolt", "Bolts of a rear shock, by the frame’s maker", 8, 20, 4, 45).noJudgement().only("rear shock"),

	volume("lower-leg oil", "Lower-leg oil", 5, 20, 2, 60).at("foot", ""),
	volume("shared oil", "Oil of a damper leg that shares it", 100, 200, 60, 350).at("top", "damper").only("shared oil"),
	key("oil height", "Oil height, compressed, spring out", Oils, quantity.KindLength, quantity.Millimetre, 60, 130, 30, 200).at("top", "damper").only("shared oil", "sealed"),
	volume("damper fill", "Sealed or cartridge damper fill", 60, 200, 30, 350).at("top", "damper").only("sealed", "cartridge"),
	key("floating piston depth", "Depth of the floating piston", Oils, quantity.KindLength, quantity.Millimetre, 10, 60, 2, 120).at("top", "damper").only("cartridge"),
	count("cartridge from the top", "Cartridge comes out with the lowers on: 1 yes, 0 no", 0, 1, 0, 1).only("cartridge"),
	volume("air-side oil", "Air-side oil", 1, 5, 0, 15).at("top", "spring").only("air"),
	key("damper fluid", "Damper fluid at 40 °C", Oils, quantity.KindViscosity, quantity.SquareMillimetrePerSecond, 7, 17, 3, 40),
	key("lower-leg viscosity", "Lower-leg oil at 40 °C", Oils, quantity.KindViscosity, quantity.SquareMillimetrePerSecond, 20, 100, 10, 250),

	pressure("rider pressure", "Rider’s pressure", 45, 120, 25, 220).setting().only("air"),
	pressure("maximum pressure", "Maximum pressure", 120, 220, 80, 320).noJudgement().notOver().only("air"),
	pressure("minimum pressure", "Minimum pressure", 20, 45, 0, 80).only("air"),
	pressure("leak test pressure", "Leak test, air spring with the lowers off", 20, 45, 0, 80).only("air"),
	pressure("damper gas", "Damper gas", 100, 250, 30, 450).only("cartridge"),
	pressure("air lost overnight", "Air lost overnight", 0, 3, 0, 10).notOver().only("air"),

	count("volume spacers", "Volume spacers", 0, 5, 0, 10).setting().only("air"),
	key("coil rate", "Coil rate", Settings, quantity.KindSpringRate, quantity.NewtonPerMillimetre, 4, 10, 2.5, 15).setting().only("coil"),
	key("sag", "Sag, share of travel", Settings, KindShare, Percent, 10, 30, 8, 35).setting(),
	turned("rebound", "clicks").as("rebound clicks"),
	turned("rebound", "turns").as("rebound setting turns"),
	turned("compression", "clicks").as("compression clicks"),
	turned("compression", "turns").as("compression setting turns"),
	turned("compression", "positions").as("compression positions"),
	turned("lockout", "positions").as("lockout positions"),
	count("preload turns", "Preload, turns from fully out", 1, 5, 0.5, 10).setting().of("preload", "turns"),
	ranged("rebound", "clicks").as("rebound range"),
	ranged("rebound", "turns").as("rebound turns"),
	ranged("compression", "clicks").as("compression range"),
	ranged("compression", "turns").as("compression turns"),
	ranged("compression", "positions").as("compression position range"),
	ranged("lockout", "positions").as("lockout range"),

	key("travel", "Travel", Measures, quantity.KindLength, quantity.Millimetre, 80, 200, 40, 230),
	key("stanchion diameter", "Stanchion diameter", Measures, quantity.KindLength, quantity.Millimetre, 30, 40, 25, 45),
	key("rider weight", "Rider with kit", Measures, quantity.KindMass, quantity.Kilogram, 45, 120, 20, 160),

	key("play limit", "Bushing play", Limits, quantity.KindLength, quantity.Millimetre, 0.2, 0.3, 0.05, 1).notOver(),
	key("stanchion wear limit", "Stanchion wear", Limits, quantity.KindLength, quantity.Millimetre, 0.02, 0.05, 0.01, 0.15).notOver(),

	hours("lower-leg service hours", "Lower-leg service", 30, 60, 15, 150),
	hours("air-spring service hours", "Air-spring service", 50, 100, 25, 250).only("air"),
	hours("damper service hours", "Damper service", 100, 200, 40, 400),
	hours("full service hours", "Full service", 100, 200, 40, 400),
	months("lower-leg service months", "Lower-leg service"),
	months("air-spring service months", "Air-spring service").only("air"),
	months("damper service months", "Damper service"),
	months("full service months", "Full service"),

	minutes("lower-leg minutes", "Book time, lower-leg service", 45, 60, 15, 240),
	minutes("air-spring minutes", "Book time, air spring on top", 30, 45, 15, 240).only("air"),
	minutes("damper minutes", "Book time, damper on top", 45, 75, 15, 240),
	minutes("full minutes", "Book time, full service", 120, 150, 10, 300),
	minutes("bushing minutes", "Book time, bushings", 90, 120, 10, 300),
	minutes("refit minutes", "Book time, refit", 20, 30, 10, 300),
}

// key makes a Key from bounds in its unit.
func key(id, name, group string, kind quantity.Kind, unit quantity.Unit, usualLow, usualHigh, askLow, askHigh float64) Key {
	return Key{ID: id, Name: name, Group: group, Kind: kind, Unit: unit,
		UsualLow: bound(kind, usualLow, unit), UsualHigh: bound(kind, usualHigh, unit),
		AskLow: bound(kind, askLow, unit), AskHigh: bound(kind, askHigh, unit)}
}

func bound(kind quantity.Kind, number float64, unit quantity.Unit) float64 {
	if p, plain := plainUnits[kind]; plain {
		return number / p.per1
	}
	si, err := quantity.FromUnit(kind, number, unit)
	if err != nil {
		panic(err) // the table above is wrong
	}
	return si
}

func torque(id, name string, usualLow, usualHigh, askLow, askHigh float64) Key {
	return key(id, name, Torques, quantity.KindTorque, quantity.NewtonMetre, usualLow, usualHigh, askLow, askHigh)
}

func volume(id, name string, usualLow, usualHigh, askLow, askHigh float64) Key {
	return key(id, name, Oils, quantity.KindVolume, quantity.Millilitre, usualLow, usualHigh, askLow, askHigh)
}

func pressure(id, name string, usualLow, usualHigh, askLow, askHigh float64) Key {
	return key(id, name, Pressures, quantity.KindPressure, quantity.PSI, usualLow, usualHigh, askLow, askHigh)
}

func count(id, name string, usualLow, usualHigh, askLow, askHigh float64) Key {
	return key(id, name, Settings, KindCount, "", usualLow, usualHigh, askLow, askHigh)
}

func hours(id, name string, usualLow, usualHigh, askLow, askHigh float64) Key {
	return key(id, name, Intervals, KindHours, Hours, usualLow, usualHigh, askLow, askHigh)
}

func months(id, name string) Key {
	return key(id, name, Intervals, KindMonths, Months, 6, 24, 2, 36)
}

func minutes(id, name string, usualLow, usualHigh, askLow, askHigh float64) Key {
	return key(id, name, Times, KindMinutes, Minutes, usualLow, usualHigh, askLow, askHigh)
}

// turned is where an adjuster stands, counted from closed in its form. Of n
// positions the last is n less one away.
func turned(adjuster, form string) Key {
	name := upperFirst(adjuster) + ", " + form + " from closed"
	k := map[string]Key{
		"clicks":    count("", name, 6, 24, 1, 45),
		"turns":     count("", name, 1, 5, 0.5, 10),
		"positions": count("", name, 0, 3, 0, 7),
	}[form]
	return k.setting().of(adjuster, form)
}

// ranged is all there is of an adjuster, from closed to open.
func ranged(adjuster, form string) Key {
	name := upperFirst(adjuster) + ", whole range in " + form
	k := map[string]Key{
		"clicks":    count("", name, 6, 24, 1, 45),
		"turns":     count("", name, 1, 5, 0.5, 10),
		"positions": count("", upperFirst(adjuster)+", number of positions", 2, 4, 2, 8),
	}[form]
	return k.of(adjuster, form)
}

func upperFirst(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func (k Key) as(id string) Key { k.ID = id; return k }
func (k Key) of(adjuster, form string) Key {
	k.Adjuster, k.Form = adjuster, form
	return k.only(adjuster)
}
func (k Key) setting() Key             { k.Setting = true; return k }
func (k Key) at(part, leg string) Key  { k.At, k.Leg = part, leg; return k }
func (k Key) only(parts ...string) Key { k.Only = parts; return k }
func (k Key) noJudgement() Key         { k.NoJudgement = true; return k }
func (k Key) notOver() Key             { k.NotOver = true; return k }
