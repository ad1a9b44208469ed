package customer

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// plainLetters are the Latin letters that Unicode does not take apart, as
// people without them on the keyboard type them.
var plainLetters = strings.NewReplacer(
	"ø", "o", "ł", "l", "đ", "d", "ð", "d", "þ", "th", "æ", "ae", "œ", "oe",
	"ħ", "h", "ŧ", "t", "ŋ", "n", "ı", "i", "ß", "ss")

// Fold is s as two people typing the same name differently both have it: lower
// case, without accents, ligatures taken apart, apostrophes left out, anything
// else that is no letter or digit a single space.
func Fold(s string) string {
	// By way of capitals, so that letters with two small forms have one.
	s = strings.ToLower(strings.ToUpper(norm.NFKD.String(s)))
	s = plainLetters.Replace(norm.NFKD.String(s))
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.Is(unicode.Mn, r) || strings.ContainsRune("'’‘ʼʻ`´", r):
			return -1
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			return r
		}
		return ' '
	}, s)
	return oneLine(s)
}

// Digits is s with nothing but its digits 0 to 9.
func Digits(s string) string {
	return strings.Map(func(r rune) rune {
		if r < '0' || r > '9' {
			return -1
		}
		return r
	}, norm.NFKD.String(s))
}
