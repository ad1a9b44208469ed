package templates

import (
	"slices"
	"testing"

	"damperdesk/internal/quantity"
)

// A jug shows 1 mL above 100 mL, a syringe 0.5 mL: common practice (no source).
func TestTheKeysOfAMeasureAreApartAndNotBelowZero(t *testing.T) {
	for _, c := range []struct {
		kind   quantity.Kind
		number float64
		unit   quantity.Unit
		want   []string
		chosen string
	}{
		{quantity.KindVolume, 150, quantity.Millilitre, []string{"148", "149", "150", "151", "152"}, "150"},
		{quantity.KindVolume, 10, quantity.Millilitre, []string{"9", "9.5", "10", "10.5", "11"}, "10"},
		{quantity.KindVolume, 0, quantity.Millilitre, []string{"0", "0.1", "0.2"}, "0"},
		{quantity.KindLength, 0.3, quantity.Millimetre, []string{"0.28", "0.29", "0.3", "0.31", "0.32"}, "0.3"},
		{quantity.KindLength, 90, quantity.Millimetre, []string{"88", "89", "90", "91", "92"}, "90"},
		{quantity.KindPressure, 1, quantity.PSI, []string{"0", "1", "2", "3"}, "1"},
	} {
		si, err := quantity.FromUnit(c.kind, c.number, c.unit)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		chosen := ""
		for _, o := range measuresAround(c.kind, si, c.unit) {
			if got = append(got, o.Label); o.Chosen {
				chosen = o.Label
			}
		}
		if !slices.Equal(got, c.want) || chosen != c.chosen {
			t.Errorf("around %g %s: %v, %s chosen, want %v, %s", c.number, c.unit, got, chosen, c.want, c.chosen)
		}
	}
}
