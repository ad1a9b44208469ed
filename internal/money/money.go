// Package money reads, prints, rounds, taxes and shares out amounts. Inside, an
// amount is a whole number of the currency's minor unit, such as pence; a
// currency is its ISO 4217 code. Nothing here is reckoned in floating point.
package money

import (
	"fmt"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/bojanz/currency"
)

// ParseError says in one sentence, fit to stand beside a field, why a text was
// refused and what to type.
type ParseError struct{ Message string }

func (e *ParseError) Error() string { return e.Message }

func refuse(format string, args ...any) *ParseError {
	return &ParseError{Message: fmt.Sprintf(format, args...)}
}

const (
	maxText   = 40 // characters in a field, spaces around it left out
	maxDigits = 15 // of the whole number in minor units
)

var (
	number = regexp.MustCompile(`^([^0-9.,+-]*?) ?([+-]?[0-9.,][0-9., '’]*?) ?([^0-9.,'’]*)$`)
	// An amount is grouped by nothing, by spaces or apostrophes, or by commas or
	// points where that leaves no doubt.
	plain   = regexp.MustCompile(`^([0-9]+([.,][0-9]+)?|[.,][0-9]+)$`)
	spaced  = regexp.MustCompile(`^[1-9][0-9]{0,2}([ '’][0-9]{3})+([.,][0-9]+)?$`)
	grouped = regexp.MustCompile(`^[1-9][0-9]{0,2}(,[0-9]{3})+(\.[0-9]+)?$`)
	dotted  = regexp.MustCompile(`^[1-9][0-9]{0,2}(\.[0-9]{3})+,[0-9]+$`)
	unclear = regexp.MustCompile(`^0*[1-9][0-9]*,[0-9]{3}$`)
)

// Known reports whether the code is a currency of ISO 4217.
func Known(code string) bool { return code != "" && currency.IsValid(code) }

// Digits is how many decimals the currency has; 0 for a code that is not
// known. The table is the currency module's, which is that of Unicode CLDR;
// nothing of our own stands beside it.
func Digits(code string) int {
	digits, ok := currency.GetDigits(code)
	if !ok {
		return 0
	}
	return int(digits)
}

// Parse reads an amount of the currency as typed: "150", "£150", "1 234,50",
// "150.00 GBP". A point or a comma begins the decimals, of which there may be
// no more than the currency has. "1,234" may mean 1234 or 1.234 and is
// refused. No amount is below zero.
//
// What a person typed wrong is a *ParseError; a code that is not known is an
// ordinary error.
func Parse(text, code string) (int64, error) {
	if !Known(code) {
		return 0, fmt.Errorf("money: currency %q is not known", code)
	}
	t := tidy(text)
	if t == "" {
		return 0, refuse("Nothing is typed here: type an amount such as %s.", example(code))
	}
	parts := number.FindStringSubmatch(t)
	if utf8.RuneCountInString(t) > maxText || parts == nil {
		return 0, refuse("That is not an amount: type one such as %s.", example(code))
	}
	for _, word := range []string{parts[1], parts[3]} {
		if !names(word, code) {
			return 0, refuse("“%s” is not %s: type the amount alone, such as %s.", word, code, example(code))
		}
	}
	decimal, err := decimals(parts[2], code)
	if err != nil {
		return 0, err
	}
	amount, err := currency.NewAmount(decimal, code)
	if err != nil {
		return 0, fmt.Errorf("money: %w", err)
	}
	return amount.Int64()
}

// decimals turns a number as typed into one that has a point before its
// decimals and nothing else.
func decimals(typed, code string) (string, error) {
	if strings.HasPrefix(typed, "-") {
		return "", refuse("An amount cannot be below zero: type one such as %s.", example(code))
	}
	typed = strings.TrimPrefix(typed, "+")
	switch {
	case unclear.MatchString(typed):
		return "", refuse("“%s” could mean %s or %s: type the one you mean, without a comma.",
			typed, strings.Replace(typed, ",", "", 1), strings.Replace(typed, ",", ".", 1))
	case plain.MatchString(typed), spaced.MatchString(typed):
		typed = strings.NewReplacer(" ", "", "'", "", "’", "", ",", ".").Replace(typed)
	case grouped.MatchString(typed):
		typed = strings.ReplaceAll(typed, ",", "")
	case dotted.MatchString(typed):
		typed = strings.NewReplacer(".", "", ",", ".").Replace(typed)
	default:
		return "", refuse("“%s” is not clear as an amount: type digits with at most one decimal point, such as %s.", typed, example(code))
	}
	whole, fraction, _ := strings.Cut(typed, ".")
	if len(fraction) > Digits(code) {
		return "", refuse("%s has %s: type an amount such as %s.", code, places(Digits(code)), example(code))
	}
	if len(strings.TrimLeft(whole, "0"))+Digits(code) > maxDigits {
		return "", refuse("That is too large: type an amount such as %s.", example(code))
	}
	return "0" + typed, nil
}

// Format prints an amount with its currency, as in "£1,234.50". Amounts of a
// currency without a sign of its own are led by the code.
func Format(minor int64, code string) string {
	return format(currency.NewFormatter(english), minor, code)
}

// FormatNumber prints an amount without its currency and without groups: fit
// for a form field that states the currency beside it.
func FormatNumber(minor int64, code string) string {
	f := currency.NewFormatter(english)
	f.CurrencyDisplay, f.NoGrouping = currency.DisplayNone, true
	return format(f, minor, code)
}

var english = currency.NewLocale("en")

func format(f *currency.Formatter, minor int64, code string) string {
	amount, err := currency.NewAmountFromInt64(minor, code)
	if err != nil {
		return "?"
	}
	return f.Format(amount)
}

func example(code string) string {
	unit := int64(150)
	for range Digits(code) {
		unit *= 10
	}
	return FormatNumber(unit, code)
}

func places(n int) string {
	switch n {
	case 0:
		return "no decimals"
	case 1:
		return "one decimal"
	}
	return fmt.Sprintf("%d decimals", n)
}

// names reports whether a word beside the number is nothing, the code, or the
// sign of the currency: "$" as well as "CA$" for Canadian dollars.
func names(word, code string) bool {
	if word == "" || strings.EqualFold(word, code) {
		return true
	}
	symbol, ok := currency.GetSymbol(code, english)
	sign := strings.TrimLeftFunc(symbol, func(r rune) bool { return r < utf8.RuneSelf && unicode.IsLetter(r) })
	return ok && (strings.EqualFold(word, symbol) || word == sign)
}

// tidy makes any space a plain one, drops invisible formatting and makes the
// minus sign a hyphen.
func tidy(text string) string {
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.Is(unicode.Cf, r), unicode.Is(unicode.Cc, r):
			return -1
		case r == '−':
			return '-'
		}
		return r
	}, text))
}
