package fold_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/fold"
)

// Source: unaccent.rules of PostgreSQL 15, which is made from the Unicode
// character database and the CLDR Latin-ASCII transliteration; lower case by
// Unicode CaseFolding.txt.
func TestFoldFollowsUnicode(t *testing.T) {
	for in, want := range map[string]string{
		"Å": "a", "é": "e", "ç": "c", "ñ": "n", "ő": "o", "Ž": "z", "ṩ": "s",
		"ß": "ss", "ẞ": "ss", "Ø": "o", "Ł": "l", "Đ": "d", "Ð": "d", "Þ": "th",
		"Æ": "ae", "Œ": "oe", "ħ": "h", "ŧ": "t", "ŋ": "n", "ı": "i", "İ": "i", "ﬁ": "fi",
	} {
		if got := fold.Text(in); got != want {
			t.Errorf("Fold(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestFoldMakesTwoWritingsOne(t *testing.T) {
	for _, pair := range [][2]string{
		{"José O’Brien", "jose o'brien"},
		{"  Ellery-Marsh,  Tomás ", "ellery marsh tomas"},
		{"STRAẞE", "strasse"},
		{"Jo\u0301se", "Jóse"},
		{"Ｔｏｍ", "tom"},
		{"Ольга", "ОЛЬГА"},
	} {
		if a, b := fold.Text(pair[0]), fold.Text(pair[1]); a != b {
			t.Errorf("Fold(%q) = %q, Fold(%q) = %q; want the same", pair[0], a, pair[1], b)
		}
	}
}

// Source: UnicodeData.txt, general categories: U+00AD, U+200B, U+200D, U+200F
// and U+202E are Cf, U+FE0F is Mn, U+0940 is Mc, U+1F6B2 is So, U+00A0 is Zs.
func TestFoldByGeneralCategory(t *testing.T) {
	for in, want := range map[string]string{
		"Mar\u00adsh": "marsh", "Mar\u200bsh": "marsh", "\u202eMarsh\u200f": "marsh", "\u0645\u0631\u200d\u064a\u0645": "\u0645\u0631\u064a\u0645",
		"\u2764\ufe0f Ada": "ada", "\U0001F6B2Ada\U0001F6B2Marsh": "ada marsh", "Ada\u00a0Marsh": "ada marsh",
		"\u092e\u0940\u0930": "\u092e\u0940\u0930", "\x00": "", "\xff": "", "%_\\": "",
	} {
		if got := fold.Text(in); got != want {
			t.Errorf("Fold(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestFoldTwiceIsFoldOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.String().Draw(t, "s")
		once := fold.Text(s)
		if twice := fold.Text(once); twice != once {
			t.Fatalf("Fold(%q) = %q, folded again %q", s, once, twice)
		}
	})
}

func TestDigits(t *testing.T) {
	if got := fold.Digits("+44 (0)7700-900 １１８ ext"); got != "4407700900118" {
		t.Errorf("Digits = %q", got)
	}
}

// Source: the definition in "F.31. pg_trgm" of the PostgreSQL 15 manual: a word
// is considered to have two spaces prefixed and one space suffixed; its example
// is "cat".
func TestGramsAreTrigramsOfThePaddedWord(t *testing.T) {
	for word, want := range map[string][]string{
		"cat":  {"  c", " ca", "cat", "at "},
		"a":    {"  a", " a "},
		"жук":  {"  ж", " жу", "жук", "ук "},
		"aaaa": {"  a", " aa", "aaa", "aaa", "aa "},
	} {
		if got := fold.Grams(word); !slices.Equal(got, want) {
			t.Errorf("Grams(%q) = %q, want %q", word, got, want)
		}
	}
	if got, want := fold.CodeGrams("t9"), []string{"  #", " #t", "#t9", "t9 "}; !slices.Equal(got, want) {
		t.Errorf("CodeGrams = %q, want %q", got, want)
	}
}

func TestCodeAndPhoneDigits(t *testing.T) {
	for in, want := range map[string]string{"TL-204 18": "tl20418", " ": "", "№7": "no7", "a/B.c": "abc", "Ö1": "o1"} {
		if got := fold.Code(in); got != want {
			t.Errorf("Code(%q) = %q, want %q", in, got, want)
		}
	}
	for in, want := range map[string]string{
		"+44 (0)7700 900118": "447700900118", "0044 (0)7700 900118": "00447700900118", "+44 7700 900118": "447700900118",
		"(0)7700 900118": "07700900118", "07700 900(0)18": "07700900018", "": "",
	} {
		if got := fold.PhoneDigits(in); got != want {
			t.Errorf("PhoneDigits(%q) = %q, want %q", in, got, want)
		}
	}
}
