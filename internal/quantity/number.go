package quantity

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

const (
	maxText   = 60 // characters in a field, spaces around it left out
	maxDigits = 15 // what a float64 always holds
	maxCount  = 1_000_000
)

var (
	numeral = regexp.MustCompile(`^[+-]?[0-9.,]+`)
	plain   = regexp.MustCompile(`^[+-]?([0-9]+([.,][0-9]+)?|[.,][0-9]+)$`)
	grouped = regexp.MustCompile(`^[+-]?[1-9][0-9]{0,2}(,[0-9]{3})+(\.[0-9]+)?$`)
	// unclear is a single comma that could group thousands or begin decimals.
	unclear = regexp.MustCompile(`^[+-]?0*[1-9][0-9]*,[0-9]{3}$`)
)

// ParseNumber reads a plain decimal number without a unit. A point begins the
// decimals. So does a comma, except that "1,234" may mean 1234 or 1.234 and is
// refused. Commas group thousands when there are two or more of them or when a
// point follows them. At most 15 digits. Errors are *ParseError.
func ParseNumber(text string) (float64, error) {
	t, err := field("", text)
	if err != nil {
		return 0, err
	}
	number, rest, err := leadingNumber("", t)
	if err != nil {
		return 0, err
	}
	if rest != "" {
		return 0, refuse("", t, "%s is not a plain number: type digits alone, such as 12.5.", quote(t))
	}
	return number, nil
}

// ParseCount reads a count of clicks, positions or spacers: a whole number
// from 0 to a million, without a unit. Errors are *ParseError.
func ParseCount(text string) (int, error) {
	t, err := field("", text)
	if err != nil {
		return 0, err
	}
	number, rest, err := leadingNumber("", t)
	switch {
	case err != nil:
		return 0, err
	case rest != "" || number != math.Trunc(number):
		return 0, refuse("", t, "%s is not a whole number: type digits alone, such as 12.", quote(t))
	case number < 0:
		return 0, refuse("", t, "A count cannot be below zero: type a whole number such as 12.")
	case number > maxCount:
		return 0, refuse("", t, "%s is too large for a count: type a whole number such as 12.", quote(t))
	}
	return int(number), nil
}

// leadingNumber reads the number t begins with and returns what follows it.
func leadingNumber(kind Kind, t string) (number float64, rest string, err error) {
	typed := numeral.FindString(t)
	if typed == "" {
		return 0, "", refuse(kind, t, "%s does not begin with a number: type %s.", quote(t), kind.example())
	}
	rest = strings.TrimSpace(t[len(typed):])
	var digits string
	switch {
	case unclear.MatchString(typed):
		return 0, "", refuse(kind, t, "%s could mean %s or %s: type the one you mean, without a comma.",
			quote(typed), strings.Replace(typed, ",", "", 1), strings.Replace(typed, ",", ".", 1))
	case plain.MatchString(typed):
		digits = strings.Replace(typed, ",", ".", 1)
	case grouped.MatchString(typed):
		digits = strings.ReplaceAll(typed, ",", "")
	default:
		return 0, "", refuse(kind, t, "%s is not clear as a number: type digits with at most one decimal point, such as 1234.5.", quote(typed))
	}
	if len(strings.Trim(strings.Replace(digits, ".", "", 1), "+-")) > maxDigits {
		return 0, "", refuse(kind, t, "%s has too many digits: type %s.", quote(typed), kind.example())
	}
	number, err = strconv.ParseFloat(digits, 64)
	if err != nil {
		return 0, "", refuse(kind, t, "%s is not a number: type %s.", quote(typed), kind.example())
	}
	return number + 0, rest, nil
}
