// Package fold makes what people type comparable: names, codes and numbers as
// two who write them differently both have them, and the trigrams they are
// looked up by.
package fold

import (
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// plainLetters are the Latin letters that Unicode does not take apart, as
// people without them on the keyboard type them.
var plainLetters = strings.NewReplacer(
	"ø", "o", "ł", "l", "đ", "d", "ð", "d", "þ", "th", "æ", "ae", "œ", "oe",
	"ħ", "h", "ŧ", "t", "ŋ", "n", "ı", "i", "ß", "ss")

// Text is s as two people typing the same name differently both have it: lower
// case, without accents, ligatures taken apart, apostrophes and invisible marks
// left out, anything else that is no letter or digit a single space.
func Text(s string) string {
	// By way of capitals, so that letters with two small forms have one.
	s = strings.ToLower(strings.ToUpper(norm.NFKD.String(s)))
	s = plainLetters.Replace(norm.NFKD.String(s))
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.In(r, unicode.Mn, unicode.Cf) || strings.ContainsRune("'’‘ʼʻ`´", r):
			return -1
		case unicode.In(r, unicode.L, unicode.Nd, unicode.Mc): // Mc: vowels of many scripts of India
			return r
		}
		return ' '
	}, s)
	return strings.Join(strings.Fields(s), " ")
}

// Code is a serial, tag or frame number as it is compared: Text without spaces,
// so that "TL-20418" and "tl 20418" are one.
func Code(s string) string { return strings.ReplaceAll(Text(s), " ", "") }

// PhoneDigits is the digits of a phone number without the trunk zero that some
// write in brackets behind the country's prefix: "+44 (0)7700 900118".
func PhoneDigits(s string) string {
	if s = strings.TrimSpace(s); strings.HasPrefix(s, "+") || strings.HasPrefix(s, "00") {
		s = strings.Replace(s, "(0)", "", 1)
	}
	return Digits(s)
}

// Grams are the trigrams of a folded word, two spaces put before it and one
// behind: "marsh" has "  m", " ma", "mar", "ars", "rsh" and "sh ". A word of n
// letters has n + 1. Those of a beginning are all but the last; those of what
// stands anywhere in a word are without the first two and the last.
func Grams(word string) []string {
	letters := []rune("  " + word + " ")
	grams := make([]string, len(letters)-2)
	for i := range grams {
		grams[i] = string(letters[i : i+3])
	}
	return grams
}

// CodeGrams are the trigrams of a folded code or of a phone number's digits.
// They have a sign before them that no word has, so that the beginnings of
// words and codes are told apart.
func CodeGrams(code string) []string { return Grams("#" + code) }

// Digits is s with nothing but its digits 0 to 9.
func Digits(s string) string {
	return strings.Map(func(r rune) rune {
		if r < '0' || r > '9' {
			return -1
		}
		return r
	}, norm.NFKD.String(s))
}

// AllGrams is every trigram of the words and of the codes once.
func AllGrams(words string, codes ...string) []string {
	all := []string{}
	for word := range strings.FieldsSeq(words) {
		all = append(all, Grams(word)...)
	}
	for _, code := range codes {
		if code != "" {
			all = append(all, CodeGrams(code)...)
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}
