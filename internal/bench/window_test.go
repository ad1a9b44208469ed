package bench

import (
	"testing"

	"damperdesk/internal/quantity"
)

// Foot bolts at about 7.3 N·m, and about 10 mL of oil a leg: common practice
// (no source). The factor of the pound-force inch: NIST SP 811, Appendix B.8.
func TestWindowHolds(t *testing.T) {
	feet := Window{Nominal: 7.3, Minus: 0.5, Plus: 0.5}
	oil := Window{Nominal: 10e-6, Minus: 1e-6, Plus: 1e-6}
	bleed := Window{Nominal: 0.6, Minus: 0.1, Plus: 0.1}
	spacers := Window{Nominal: 2}
	cases := []struct {
		name   string
		window Window
		kind   quantity.Kind
		number float64
		unit   quantity.Unit
		want   bool
	}{
		{"the target", feet, quantity.KindTorque, 7.3, quantity.NewtonMetre, true},
		{"the lower limit", feet, quantity.KindTorque, 6.8, quantity.NewtonMetre, true},
		{"the upper limit", feet, quantity.KindTorque, 7.8, quantity.NewtonMetre, true},
		{"a little over, though it prints as 7.8", feet, quantity.KindTorque, 7.84, quantity.NewtonMetre, false},
		{"a little under", feet, quantity.KindTorque, 6.7, quantity.NewtonMetre, false},
		{"a click wrench at 65 lbf·in, 7.34 N·m", feet, quantity.KindTorque, 65, quantity.PoundForceInch, true},
		{"60 lbf·in is what 6.8 N·m reads", feet, quantity.KindTorque, 60, quantity.PoundForceInch, true},
		{"69 lbf·in is what 7.8 N·m reads", feet, quantity.KindTorque, 69, quantity.PoundForceInch, true},
		{"59 lbf·in", feet, quantity.KindTorque, 59, quantity.PoundForceInch, false},
		{"70 lbf·in", feet, quantity.KindTorque, 70, quantity.PoundForceInch, false},
		{"10 mL a leg", oil, quantity.KindVolume, 10, quantity.Millilitre, true},
		{"11 mL a leg", oil, quantity.KindVolume, 11, quantity.Millilitre, true},
		{"12.5 mL a leg", oil, quantity.KindVolume, 12.5, quantity.Millilitre, false},
		{"a coarse unit does not stretch a small window: 4 lbf·in is 0.45 N·m", bleed, quantity.KindTorque, 4, quantity.PoundForceInch, false},
		{"5 lbf·in is 0.56 N·m", bleed, quantity.KindTorque, 5, quantity.PoundForceInch, true},
		{"as many spacers as named", spacers, "", 2, "", true},
		{"one spacer more", spacers, "", 3, "", false},
	}
	for _, c := range cases {
		si := c.number
		if c.kind != "" {
			var err error
			if si, err = quantity.FromUnit(c.kind, c.number, c.unit); err != nil {
				t.Fatal(err)
			}
		}
		if got := c.window.Holds(c.kind, si, c.unit); got != c.want {
			t.Errorf("%s: %g %s in %+v: got %v, want %v", c.name, c.number, c.unit, c.window, got, c.want)
		}
	}
}
