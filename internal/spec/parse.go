package spec

import (
	"regexp"
	"strconv"
	"strings"

	"damperdesk/internal/quantity"
)

// bracketed is a value with its window behind it: "7.3 (6.8 to 8) N·m".
var bracketed = regexp.MustCompile(`^([^()]+)\(([^()]+)\)([^()]*)$`)

// Parse reads a value of the key as documents print it: "7.3 ± 0.5 N·m",
// "7.3 N·m ± 10 %", "6.8 to 7.8 N·m", "7.3 (6.8 to 8) N·m", "65 lbf·in". Of a
// bare range the middle is the value. A unit that stands once holds throughout;
// without any the value is in def, or in the one unit of a kind that has no
// other. Of the result only the figures, the unit and what was typed are set.
// Errors are *quantity.ParseError.
func (k Key) Parse(text string, def quantity.Unit) (Value, error) {
	v, err := k.parse(strings.TrimSpace(text), def)
	if err != nil {
		return Value{}, err
	}
	if k.NotOver && (v.MinusSI != 0 || v.PlusSI != 0) {
		return Value{}, refuse(text, "This is a limit: type the one number it must not go over.")
	}
	v.Key, v.Entered = k.ID, strings.TrimSpace(text)
	return v, nil
}

func (k Key) parse(t string, def quantity.Unit) (Value, error) {
	if nominal, deviation, ok := cutDeviation(t); ok {
		return k.parseDeviation(nominal, deviation, def)
	}
	if m := bracketed.FindStringSubmatch(t); m != nil {
		return k.parseBracketed(strings.TrimSpace(m[1]), strings.TrimSpace(m[2]), strings.TrimSpace(m[3]), def)
	}
	if low, high, ok := quantity.SplitRange(t); ok {
		bottom, top, unit, err := k.pair(low, high, def)
		if err != nil {
			return Value{}, err
		}
		if bottom > top {
			return Value{}, refuse(t, "The window begins above its end: type the smaller number first.")
		}
		middle := (bottom + top) / 2
		return Value{NominalSI: middle, MinusSI: middle - bottom, PlusSI: top - middle, ShownUnit: unit}, nil
	}
	si, unit, err := k.term(t, def)
	return Value{NominalSI: si, ShownUnit: unit}, err
}

// cutDeviation cuts "7.3 ± 0.5 N·m", in which keyboards without the sign have
// "+/-" or "+-".
func cutDeviation(t string) (nominal, deviation string, ok bool) {
	for _, sign := range []string{"±", "+/-", "+/−", "+-", "+−"} {
		if nominal, deviation, ok = strings.Cut(t, sign); ok {
			return strings.TrimSpace(nominal), strings.TrimSpace(deviation), true
		}
	}
	return "", "", false
}

func (k Key) parseDeviation(nominal, deviation string, def quantity.Unit) (Value, error) {
	if share, percent := strings.CutSuffix(deviation, "%"); percent && k.Kind != KindShare {
		number, err := quantity.ParseNumber(share)
		if err != nil {
			return Value{}, err
		}
		si, unit, err := k.term(nominal, def)
		return Value{NominalSI: si, MinusSI: si * number / 100, PlusSI: si * number / 100, ShownUnit: unit}, err
	}
	si, by, unit, err := k.pair(nominal, deviation, def)
	return Value{NominalSI: si, MinusSI: by, PlusSI: by, ShownUnit: unit}, err
}

func (k Key) parseBracketed(nominal, window, unitText string, def quantity.Unit) (Value, error) {
	low, high, ok := quantity.SplitRange(window)
	if !ok {
		return Value{}, refuse(window, "In brackets stands the window, such as 7.3 (6.8 to 8) N·m.")
	}
	if unitText != "" {
		high += " " + unitText
	}
	bottom, top, unit, err := k.pair(low, high, def)
	if err != nil {
		return Value{}, err
	}
	si, _, err := k.term(nominal, unit)
	if err != nil {
		return Value{}, err
	}
	if si < bottom || si > top {
		return Value{}, refuse(nominal, "The value has to lie in its window.")
	}
	return Value{NominalSI: si, MinusSI: si - bottom, PlusSI: top - si, ShownUnit: unit}, nil
}

// pair reads two terms, of which one may lack the unit of the other.
func (k Key) pair(a, b string, def quantity.Unit) (siA, siB float64, unit quantity.Unit, err error) {
	if unitless(b) {
		if siA, unit, err = k.term(a, def); err == nil {
			siB, _, err = k.term(b, unit)
		}
		return siA, siB, unit, err
	}
	if siB, unit, err = k.term(b, def); err == nil {
		siA, _, err = k.term(a, unit)
	}
	return siA, siB, unit, err
}

func unitless(term string) bool {
	_, err := quantity.ParseNumber(term)
	return err == nil
}

// term reads one number with or without its unit.
func (k Key) term(text string, def quantity.Unit) (float64, quantity.Unit, error) {
	p, plain := plainUnits[k.Kind]
	if !plain {
		if !k.HasUnit(def) {
			def = k.Unit
		}
		v, err := quantity.Parse(k.Kind, text, def)
		return v.SI, v.Unit, err
	}
	number, err := quantity.ParseNumber(withoutUnit(text, k.Kind))
	switch {
	case err != nil:
		return 0, "", err
	case number < 0:
		return 0, "", refuse(text, "Type a number that is not below zero.")
	}
	return number / p.per1, p.unit, nil
}

// plainWords are how the units of plain kinds are typed.
var plainWords = map[quantity.Kind][]string{
	KindCount:   {"clicks", "click", "turns", "turn", "positions", "position", "spacers", "spacer"},
	KindShare:   {"%", "percent"},
	KindHours:   {"hours", "hour", "hrs", "h"},
	KindMonths:  {"months", "month"},
	KindMinutes: {"minutes", "minute", "mins", "min"},
}

func withoutUnit(text string, kind quantity.Kind) string {
	t := strings.ToLower(strings.TrimSpace(text))
	for _, word := range plainWords[kind] {
		if number, ok := strings.CutSuffix(t, word); ok {
			return strings.TrimSpace(number)
		}
	}
	return t
}

func refuse(text, sentence string) error {
	return &quantity.ParseError{Text: text, Message: sentence}
}

// Typed is the value as a form takes it: what was typed, or as Parse reads it
// back without loss.
func (v Value) Typed() string {
	if v.Entered != "" {
		return v.Entered
	}
	k, _ := Find(v.Key)
	number := func(si float64) string {
		x := si
		if p, plain := plainUnits[k.Kind]; plain {
			x = si * p.per1
		} else if k.Kind != "" {
			x = quantity.Convert(k.Kind, si, v.ShownUnit)
		}
		return strconv.FormatFloat(x, 'g', 9, 64)
	}
	text := number(v.NominalSI)
	switch low, high := number(v.MinusSI), number(v.PlusSI); {
	case v.MinusSI == 0 && v.PlusSI == 0:
	case low == high:
		text += " ± " + high
	default:
		text += " (" + number(v.NominalSI-v.MinusSI) + " to " + number(v.NominalSI+v.PlusSI) + ")"
	}
	if v.ShownUnit != "" {
		text += " " + string(v.ShownUnit)
	}
	return text
}
