package quantity

import (
	"regexp"
	"strconv"
)

// fraction is a length in parts of an inch, as rulers and bolts have it: "1 1/8",
// "1-1/8 in", "1⅛\"", "3/4 in".
var fraction = regexp.MustCompile(`^(?:(?:([0-9]{1,4})(?:\s+|-))?([0-9]{1,2})/([0-9]{1,2})|([0-9]{0,4})\s*([¼½¾⅛⅜⅝⅞]))\s*(.*)$`)

// vulgar are the characters that stand for a fraction.
var vulgar = map[string]float64{"¼": 1. / 4, "½": 1. / 2, "¾": 3. / 4, "⅛": 1. / 8, "⅜": 3. / 8, "⅝": 5. / 8, "⅞": 7. / 8}

// parseFraction reads a length with a fraction; ok is false where it has none.
// Nobody divides a millimetre so, and what has no unit is in inches.
func parseFraction(t string) (v Value, ok bool, err error) {
	m := fraction.FindStringSubmatch(t)
	if m == nil {
		return Value{}, false, nil
	}
	whole, of, unit := m[1]+m[4], m[5], m[6]
	part := vulgar[of]
	if of == "" {
		if part, err = divided(t, m[2], m[3]); err != nil {
			return Value{}, true, err
		}
	}
	inches, _ := strconv.Atoi(whole) // four digits at most, none for 0
	typed, err := unitTyped(KindLength, t, unit, Inch)
	if err != nil {
		return Value{}, true, err
	}
	if typed != Inch {
		return Value{}, true, refuse(KindLength, t, "%s has a fraction: type millimetres with a decimal point, such as 28.6 mm.", quote(t))
	}
	si, err := FromUnit(KindLength, float64(inches)+part, Inch)
	return Value{SI: si, Unit: Inch, Entered: t}, true, withText(err, t)
}

// divided reads the part below one.
func divided(t, over, under string) (float64, error) {
	top, _ := strconv.Atoi(over)
	bottom, _ := strconv.Atoi(under)
	if top >= bottom {
		return 0, refuse(KindLength, t, "%s is not clear as inches: type them such as 1 1/8 in.", quote(t))
	}
	return float64(top) / float64(bottom), nil
}
