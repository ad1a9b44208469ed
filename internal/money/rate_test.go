package money_test

import (
	"errors"
	"strings"
	"testing"

	"damperdesk/internal/money"
)

// Source: decimal arithmetic by hand.
func TestRatesAndQuantitiesAreReadAsTypedAndPrinted(t *testing.T) {
	for text, want := range map[string]struct {
		bp      int
		printed string
	}{
		"20": {2000, "20\u00a0%"}, "17.5 %": {1750, "17.5\u00a0%"}, "8,1%": {810, "8.1\u00a0%"},
		" 5.25 ": {525, "5.25\u00a0%"}, "0": {0, "0\u00a0%"}, "100": {10000, "100\u00a0%"},
	} {
		if got, err := money.ParseRate(text); err != nil || got != want.bp || money.FormatRate(got) != want.printed {
			t.Errorf("ParseRate(%q) = %d, %v, printed %q; want %d, %q", text, got, err, money.FormatRate(got), want.bp, want.printed)
		}
	}
	for text, want := range map[string]struct {
		thousandths int64
		printed     string
	}{
		"1": {1000, "1"}, "0.5": {500, "0.5"}, "2,5": {2500, "2.5"}, "0.015": {15, "0.015"}, "99999.999": {99999999, "99999.999"}, "10": {10000, "10"},
	} {
		if got, err := money.ParseTimes(text); err != nil || got != want.thousandths || money.FormatTimes(got) != want.printed {
			t.Errorf("ParseTimes(%q) = %d, %v, printed %q; want %d, %q", text, got, err, money.FormatTimes(got), want.thousandths, want.printed)
		}
	}
	if got := money.FormatTimes(-1500); got != "-1.5" {
		t.Errorf("FormatTimes(-1500) = %q", got)
	}
}

func TestRatesAndQuantitiesAreRefusedWithASentence(t *testing.T) {
	for text, says := range map[string]string{
		"": "not a rate", "lots": "not a rate", "17.555": "at most two decimals", "-5": "not a rate", "101": "at most 100", "1e2": "not a rate",
	} {
		_, err := money.ParseRate(text)
		refused(t, "ParseRate", text, err, says)
	}
	for text, says := range map[string]string{
		"": "not a quantity", "some": "not a quantity", "1.2345": "three decimals", "-1": "not a quantity", "0": "above zero", "0.000": "above zero", "100000": "under 100000",
	} {
		_, err := money.ParseTimes(text)
		refused(t, "ParseTimes", text, err, says)
	}
}

func refused(t *testing.T, name, text string, err error, says string) {
	t.Helper()
	var bad *money.ParseError
	if !errors.As(err, &bad) || !strings.Contains(bad.Message, says) {
		t.Errorf("%s(%q): %v; want a sentence with %q", name, text, err, says)
	}
}
