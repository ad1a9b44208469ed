package quantity

import (
	"fmt"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// ParseError says in one sentence, fit to stand beside a field, why a text was
// refused and what to type.
type ParseError struct {
	Kind    Kind   // empty for a plain number or count
	Text    string // what was typed, without the spaces around it
	Message string
}

func (e *ParseError) Error() string { return e.Message }

func refuse(kind Kind, text, format string, args ...any) *ParseError {
	return &ParseError{Kind: kind, Text: text, Message: fmt.Sprintf(format, args...)}
}

func (k Kind) example() string {
	if w, ok := wordings[k]; ok {
		return w.noun + " such as " + w.example
	}
	return "a number such as 12"
}

// stones is a weight in stones and pounds; the pounds may lack their unit.
var stones = regexp.MustCompile(`(?i)^(\S+?)\s*(?:stones?|st\.?)\s*([0-9].*)$`)

// Parse reads a number and its unit as typed; without a unit the number is in
// def. The zero def makes a unit required. Spellings of the trade are
// understood (65 in-lb, 10 cc, 11st 9lb, 1 1/8 in), capitals do not matter, and numbers
// follow the rules of ParseNumber. Only a temperature may be below zero.
//
// What a person typed wrong is a *ParseError. A kind that is not known, or a
// def that does not measure it, is an ordinary error.
func Parse(kind Kind, text string, def Unit) (Value, error) {
	if _, known := wordings[kind]; !known {
		return Value{}, fmt.Errorf("quantity: kind %q is not known", kind)
	}
	if def != "" {
		if _, err := scaleOf(kind, def); err != nil {
			return Value{}, err
		}
	}
	t, err := field(kind, text)
	if err != nil {
		return Value{}, err
	}
	if m := stones.FindStringSubmatch(t); kind == KindMass && m != nil {
		return parseStones(t, m[1], m[2])
	}
	if kind == KindLength {
		if v, divided, err := parseFraction(t); divided {
			return v, err
		}
	}
	number, rest, err := leadingNumber(kind, t)
	if err != nil {
		return Value{}, err
	}
	unit, err := unitTyped(kind, t, rest, def)
	if err != nil {
		return Value{}, err
	}
	si, err := FromUnit(kind, number, unit)
	if err != nil {
		return Value{}, withText(err, t)
	}
	return Value{SI: si, Unit: unit, Entered: t}, nil
}

func parseStones(t, stonesText, poundsText string) (Value, error) {
	whole, err := ParseCount(stonesText)
	if err != nil {
		return Value{}, refuse(KindMass, t, "%s is not clear as stones and pounds: type whole stones, such as 11 st 9 lb.", quote(t))
	}
	pounds, rest, err := leadingNumber(KindMass, poundsText)
	if err != nil {
		return Value{}, withText(err, t)
	}
	if unit, err := unitTyped(KindMass, t, rest, Pound); err != nil || unit != Pound {
		return Value{}, refuse(KindMass, t, "%s is not clear as stones and pounds: type it such as 11 st 9 lb.", quote(t))
	}
	if pounds >= 14 {
		return Value{}, refuse(KindMass, t, "A stone has 14 pounds: type fewer than 14 after the stones, such as 11 st 9 lb.")
	}
	si, err := FromUnit(KindMass, float64(14*whole)+pounds, Pound)
	if err != nil {
		return Value{}, withText(err, t)
	}
	return Value{SI: si, Unit: Stone, Entered: t}, nil
}

// withText adds what was typed to an error that was made without it.
func withText(err error, t string) error {
	if p, ok := err.(*ParseError); ok {
		p.Text = t
	}
	return err
}

// spellings maps each squeezed spelling of each kind to its unit.
var spellings = func() map[Kind]map[string]Unit {
	byKind := map[Kind]map[string]Unit{}
	for _, s := range scales {
		if byKind[s.kind] == nil {
			byKind[s.kind] = map[string]Unit{}
		}
		for _, spelling := range append(strings.Fields(s.aliases), squeeze(string(s.unit))) {
			byKind[s.kind][spelling] = s.unit
		}
	}
	return byKind
}()

// unitTyped finds the unit in rest, which is what followed the number in t.
func unitTyped(kind Kind, t, rest string, def Unit) (Unit, error) {
	if rest == "" {
		if def == "" {
			return "", refuse(kind, t, "%s has no unit: type %s.", quote(t), kind.example())
		}
		return def, nil
	}
	spelling := squeeze(rest)
	if unit, ok := spellings[kind][spelling]; ok {
		return unit, nil
	}
	for _, s := range scales {
		if unit, ok := spellings[s.kind][spelling]; ok {
			return "", refuse(kind, t, "%s is %s in %s: type %s.", quote(t), wordings[unit.Kind()].noun, unit, kind.example())
		}
	}
	if strings.ContainsAny(spelling, "0123456789") {
		return "", refuse(kind, t, "%s is not clear: type one number and one unit, such as %s.", quote(t), wordings[kind].example)
	}
	return "", refuse(kind, t, "%s is not a unit of %s here: type %s.", quote(rest),
		strings.TrimPrefix(wordings[kind].noun, "a "), alternatives(Units(kind)))
}

// squeeze folds a unit as typed to the form spellings are kept in: lower case,
// without spaces, dots, hyphens and degree signs, powers as digits.
func squeeze(unit string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '.', '·', '⋅', '•', '∙', '*', '-', '‐', '‑', '–', '^', '°', 'º', '⁻':
			return -1
		case '²':
			return '2'
		case '³':
			return '3'
		case '¹':
			return '1'
		case '″', '”':
			return '"'
		}
		return unicode.ToLower(r)
	}, unit)
}

// field tidies the text of a form field: any space is a plain one, invisible
// formatting is dropped, the minus sign is a hyphen.
func field(kind Kind, text string) (string, error) {
	t := strings.TrimSpace(strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.Is(unicode.Cf, r):
			return -1
		case r == '−':
			return '-'
		}
		return r
	}, text))
	if t == "" {
		return "", refuse(kind, t, "Nothing is typed here: type %s.", kind.example())
	}
	if utf8.RuneCountInString(t) > maxText {
		return "", refuse(kind, t, "That is too long: type %s.", kind.example())
	}
	return t, nil
}

// quote shows typed text in a message, without anything unprintable.
func quote(t string) string {
	return "“" + strings.Map(func(r rune) rune {
		if r == utf8.RuneError || !unicode.IsPrint(r) {
			return '?'
		}
		return r
	}, t) + "”"
}

func alternatives(units []Unit) string {
	var list strings.Builder
	for i, u := range units {
		switch {
		case i > 0 && i == len(units)-1:
			list.WriteString(" or ")
		case i > 0:
			list.WriteString(", ")
		}
		list.WriteString(string(u))
	}
	return list.String()
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
