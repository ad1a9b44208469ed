package quantity

import (
	"errors"
	"math"
	"testing"
)

// Factors: NIST SP 811, appendix B.8 (1 lbf·in = 0.1129848 N·m, seven figures).
func TestARangeIsTwoNumbersAndTheirUnit(t *testing.T) {
	for _, c := range []struct {
		text      string
		def       Unit
		low, high float64 // N·m
		unit      Unit
	}{
		{"5 to 25 N·m", NewtonMetre, 5, 25, NewtonMetre},
		{"5-25 N·m", NewtonMetre, 5, 25, NewtonMetre},
		{"5 – 25", NewtonMetre, 5, 25, NewtonMetre},
		{"5 N·m to 25 N·m", "", 5, 25, NewtonMetre},
		{"5 N-m to 25 N-m", "", 5, 25, NewtonMetre},
		{"5 N-m - 25", PoundForceInch, 5, 25, NewtonMetre},
		{"20 TO 100 in-lb", NewtonMetre, 20 * 0.1129848, 100 * 0.1129848, PoundForceInch},
		{"1,5 to 10,5 Nm", NewtonMetre, 1.5, 10.5, NewtonMetre},
		{"2..15", NewtonMetre, 2, 15, NewtonMetre},
		{"7.3 to 7.3", NewtonMetre, 7.3, 7.3, NewtonMetre},
	} {
		low, high, err := ParseRange(KindTorque, c.text, c.def)
		if err != nil || !near(low.SI, c.low) || !near(high.SI, c.high) || high.Unit != c.unit {
			t.Errorf("%q: got %v to %v (%s), %v; want %v to %v (%s)", c.text, low.SI, high.SI, high.Unit, err, c.low, c.high, c.unit)
		}
	}
}

func near(got, want float64) bool { return math.Abs(got-want) <= 5e-7*want }

func TestWhatIsNoRangeIsRefused(t *testing.T) {
	for _, text := range []string{"", "25 N·m", "7.3 N-m", "65 in-lb", "to 25", "25 to 5 N·m", "5 to 25 bar", "5 to", "-5 to 25", "5 to -25", "5 bar to 25 N·m", "five to ten", "5 to 10 to 15"} {
		var bad *ParseError
		if _, _, err := ParseRange(KindTorque, text, NewtonMetre); !errors.As(err, &bad) || bad.Message == "" {
			t.Errorf("%q: got %v, want a sentence", text, err)
		}
	}
}
