package quantity

import "regexp"

// rangeForm is a number with or without its unit, "to" or a dash, another
// number. The hyphen of a unit such as N-m stands before no digit.
var rangeForm = regexp.MustCompile(`(?i)^\s*\+?([0-9.,]+[^0-9]*?)\s*(?:\bto\b|\.\.+|…|[-‐‑–—−])\s*\+?([0-9.,].*)$`)

// SplitRange cuts "5 to 25 N·m" into "5" and "25 N·m"; ok is false for a text
// that is no range.
func SplitRange(text string) (low, high string, ok bool) {
	m := rangeForm.FindStringSubmatch(text)
	if m == nil {
		return "", "", false
	}
	return m[1], m[2], true
}

// ParseRange reads two numbers with their unit, as in "5 to 25 N·m", "5-25 N·m"
// or "5 N·m to 25 N·m", under the rules of Parse. A unit that stands at one of
// the two only holds for both. The first may not be above the second.
func ParseRange(kind Kind, text string, def Unit) (low, high Value, err error) {
	t, err := field(kind, text)
	if err != nil {
		return Value{}, Value{}, err
	}
	lowText, highText, ok := SplitRange(t)
	if !ok {
		return Value{}, Value{}, refuse(kind, t, "%s is not clear as a range: type it such as 5 to 25 %s.", quote(t), exampleUnit(kind, def))
	}
	if _, unit, wrong := leadingNumber(kind, highText); wrong == nil && unit == "" {
		if low, err = Parse(kind, lowText, def); err != nil {
			return Value{}, Value{}, err
		}
		high, err = Parse(kind, highText, low.Unit)
	} else {
		if high, err = Parse(kind, highText, def); err != nil {
			return Value{}, Value{}, err
		}
		low, err = Parse(kind, lowText, high.Unit)
	}
	if err == nil && low.SI > high.SI {
		err = refuse(kind, t, "%s begins above its end: type the smaller number first.", quote(t))
	}
	if err != nil {
		return Value{}, Value{}, err
	}
	return low, high, nil
}

func exampleUnit(kind Kind, def Unit) Unit {
	if def != "" {
		return def
	}
	for _, s := range scales {
		if s.kind == kind {
			return s.unit
		}
	}
	return ""
}
