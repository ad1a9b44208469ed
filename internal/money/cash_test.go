package money_test

import (
	"testing"

	"golang.org/x/text/currency"

	"damperdesk/internal/money"
)

// Source: the cash rounding of Unicode CLDR, as golang.org/x/text
// currency.Cash states it.
func TestTheSmallestCoinFollowsCLDR(t *testing.T) {
	for _, code := range []string{"CHF", "CAD", "DKK", "EUR", "GBP", "USD", "JPY"} {
		scale, step := currency.Cash.Rounding(currency.MustParseISO(code))
		want := int64(step)
		for range money.Digits(code) - scale {
			want *= 10
		}
		if got := money.Coin(code); got != want {
			t.Errorf("the smallest coin of %s is %d, want %d", code, got, want)
		}
	}
}

// Source: decimal arithmetic by hand.
func TestCash(t *testing.T) {
	for _, c := range []struct {
		amount int64
		code   string
		want   int64
	}{
		{1232, "CHF", 1230}, {1233, "CHF", 1235}, {1235, "CHF", 1235}, {-1233, "CHF", -1235},
		{1224, "DKK", 1200}, {1225, "DKK", 1250}, {1275, "DKK", 1300}, {1250, "HUF", 1500}, {1249, "HUF", 1000}, {1233, "EUR", 1233},
	} {
		if got := money.Cash(c.amount, c.code); got != c.want {
			t.Errorf("%d %s in cash is %d, want %d", c.amount, c.code, got, c.want)
		}
	}
}
