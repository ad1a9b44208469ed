package stock

import (
	"testing"

	"pgregory.net/rapid"
)

// US fluid ounce and pound: NIST SP 811 appendix B.8, exact products.
func TestAmountsAreReadToTheSmallestUnit(t *testing.T) {
	for _, c := range []struct {
		m    Measure
		text string
		want int64
	}{
		{Each, "12", 12}, {Volume, "15", 15_000}, {Volume, "1.5 L", 1_500_000}, {Volume, "0,5 mL", 500},
		{Volume, "4 fl oz", 118_294}, {Mass, "500 g", 500_000}, {Mass, "1 lb", 453_592}, {Mass, "2.5 kg", 2_500_000},
	} {
		if got, err := c.m.Parse(c.text); err != nil || got != c.want {
			t.Errorf("%s of %q: %d, %v; want %d", c.m, c.text, got, err, c.want)
		}
	}
	for m, texts := range map[Measure][]string{Each: {"", "1.5", "-2", "0", "many"}, Volume: {"", "5 kg", "-1 mL", "0 mL"}, Mass: {"3 L"}} {
		for _, text := range texts {
			if got, err := m.Parse(text); err == nil {
				t.Errorf("%s of %q: %d, want it refused", m, text, got)
			}
		}
	}
}

func TestAmountsAreReadBackAsTheyWere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom(Measures).Draw(t, "measure")
		amount := rapid.Int64Range(1, 100_000_000).Draw(t, "amount")
		if m == Each {
			amount = amount%900 + 1
		}
		if got, err := m.Parse(m.Field(amount)); err != nil || got != amount {
			t.Fatalf("%s %d is shown as %q and read as %d, %v", m, amount, m.Field(amount), got, err)
		}
	})
	for want, got := range map[string]string{
		"1\u00a0piece": Each.Format(1), "−3\u00a0pieces": Each.Format(-3), "1.25\u00a0L": Volume.Format(1_250_000), "−20\u00a0mL": Volume.Format(-20_000), "0.5\u00a0g": Mass.Format(500),
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

// 629104150021 has the check digit 3: the worked example of GS1, "How to calculate a
// check digit manually" (from memory); 4006381333931 and 036000291452 are the examples
// of the encyclopedia's articles on EAN and UPC (from memory).
func TestBarcodesWithAWrongDigitAreRefused(t *testing.T) {
	for _, code := range []string{"6291041500213", "4006381333931", "036000291452", "", "WP-35", "123"} {
		if err := CheckBarcode(code); err != nil {
			t.Errorf("%q: %v", code, err)
		}
	}
	for _, code := range []string{"6291041500214", "4006381333913", "036000291453", "40 06381 333 932"} {
		if CheckBarcode(code) == nil {
			t.Errorf("%q passes", code)
		}
	}
}
