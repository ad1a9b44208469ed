package money_test

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/money"
)

// Source: ISO 4217 table A.1, "minor unit" column, as golang.org/x/text
// currency.Standard states it.
func TestDecimalsFollowISO4217(t *testing.T) {
	for digits, codes := range map[int]string{
		2: "USD EUR GBP CHF SEK HUF",
		0: "JPY KRW CLP ISK UGX VND",
		3: "KWD BHD TND OMR JOD",
		4: "CLF",
	} {
		for _, code := range strings.Fields(codes) {
			if got := money.Digits(code); got != digits || !money.Known(code) {
				t.Errorf("Digits(%s) = %d, want %d", code, got, digits)
			}
		}
	}
	if money.Known("GBX") || money.Known("") {
		t.Error("a code that ISO 4217 does not have is taken for a currency")
	}
}

// Source: decimal arithmetic by hand.
func TestParseReadsAmountsAsTyped(t *testing.T) {
	for _, c := range []struct {
		text, code string
		want       int64
	}{
		{"150", "GBP", 15000},
		{" £150 ", "GBP", 15000},
		{"£ 150.00", "GBP", 15000},
		{"150.5", "GBP", 15050},
		{"150,50", "EUR", 15050},
		{"150,50 €", "EUR", 15050},
		{".50", "GBP", 50},
		{"0", "GBP", 0},
		{"007", "GBP", 700},
		{"1 234,50", "EUR", 123450},
		{"1\u00a0234,50", "EUR", 123450},
		{"1\u202f234,50 EUR", "EUR", 123450},
		{"1'234.50", "CHF", 123450},
		{"1,234.50", "GBP", 123450},
		{"1.234,50", "EUR", 123450},
		{"1,234,567", "GBP", 123456700},
		{"1 234", "GBP", 123400},
		{"gbp 12.34", "GBP", 1234},
		{"$150", "USD", 15000},
		{"$150", "CAD", 15000},
		{"CA$150", "CAD", 15000},
		{"¥1500", "JPY", 1500},
		{"1.005", "KWD", 1005},
		{"1.005", "CLF", 10050},
		{"+5", "GBP", 500},
	} {
		got, err := money.Parse(c.text, c.code)
		if err != nil || got != c.want {
			t.Errorf("Parse(%q, %s) = %d, %v; want %d", c.text, c.code, got, err, c.want)
		}
	}
}

func TestParseRefusesWithASentence(t *testing.T) {
	for _, c := range []struct{ text, code, says string }{
		{"", "GBP", "Nothing is typed"},
		{"lots", "GBP", "not an amount"},
		{"1,234", "GBP", "could mean 1234 or 1.234"},
		{"1,234", "KWD", "could mean 1234 or 1.234"},
		{"£1,234", "GBP", "could mean 1234 or 1.234"},
		{"12.345", "GBP", "2 decimals"},
		{"1500.5", "JPY", "no decimals"},
		{"-5", "GBP", "below zero"},
		{"−5", "GBP", "below zero"},
		{"€150", "GBP", "“€” is not GBP"},
		{"150 USD", "GBP", "“USD” is not GBP"},
		{"12 34", "GBP", "not clear"},
		{"1.2.3", "GBP", "not clear"},
		{"1,23,456", "GBP", "not clear"},
		{"12 £ 13", "GBP", "not an amount"},
		{"1e3", "GBP", "not an amount"},
		{"99999999999999", "GBP", "too large"},
		{strings.Repeat("1", 60), "GBP", "not an amount"},
	} {
		_, err := money.Parse(c.text, c.code)
		var refused *money.ParseError
		if !errors.As(err, &refused) || !strings.Contains(refused.Message, c.says) {
			t.Errorf("Parse(%q, %s): %v; want a sentence with %q", c.text, c.code, err, c.says)
		}
	}
	var refused *money.ParseError
	if _, err := money.Parse("1", "GBX"); err == nil || errors.As(err, &refused) {
		t.Errorf("Parse with a currency nobody has: %v; want an ordinary error", err)
	}
}

// Source: Unicode CLDR 48, English currency patterns and signs.
func TestFormat(t *testing.T) {
	for _, c := range []struct {
		minor        int64
		code         string
		want, number string
	}{
		{15000, "GBP", "£150.00", "150.00"},
		{123450, "EUR", "€1,234.50", "1234.50"},
		{1500, "JPY", "¥1,500", "1500"},
		{1005, "KWD", "KWD\u00a01.005", "1.005"},
		{5, "USD", "$0.05", "0.05"},
		{-250, "GBP", "-£2.50", "-2.50"},
	} {
		if got := money.Format(c.minor, c.code); got != c.want {
			t.Errorf("Format(%d, %s) = %q, want %q", c.minor, c.code, got, c.want)
		}
		if got := money.FormatNumber(c.minor, c.code); got != c.number {
			t.Errorf("FormatNumber(%d, %s) = %q, want %q", c.minor, c.code, got, c.number)
		}
	}
}

func TestWhatIsPrintedIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		code := rapid.SampledFrom([]string{"GBP", "JPY", "KWD", "CLF", "CAD", "SEK"}).Draw(t, "code")
		minor := rapid.Int64Range(0, 999_999_999_999).Draw(t, "minor")
		number := money.FormatNumber(minor, code)
		if got, err := money.Parse(number, code); err != nil || got != minor {
			t.Fatalf("Parse(FormatNumber(%d, %s) = %q) = %d, %v", minor, code, number, got, err)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"£150", "1 234,50", "1,234", "-", ".", "’1", "¥"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		minor, err := money.Parse(text, "GBP")
		var refused *money.ParseError
		if err != nil && !errors.As(err, &refused) || err == nil && minor < 0 {
			t.Errorf("Parse(%q) = %d, %v", text, minor, err)
		}
	})
}
