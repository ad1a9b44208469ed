package spec

import (
	"errors"
	"math"
	"testing"

	"damperdesk/internal/quantity"
)

// Factors of NIST SP 811, appendix B.8 (seven figures): 1 lbf·in is
// 0.1129848 N·m, 1 psi is 6894.757 Pa.
func TestAValueIsReadAsDocumentsPrintIt(t *testing.T) {
	nm, lbf := quantity.NewtonMetre, quantity.PoundForceInch
	for _, c := range []struct {
		key, text            string
		def                  quantity.Unit
		nominal, minus, plus float64 // SI
		unit                 quantity.Unit
	}{
		{"foot bolt", "7.3 N·m", nm, 7.3, 0, 0, nm},
		{"foot bolt", "7.3", nm, 7.3, 0, 0, nm},
		{"foot bolt", "65", lbf, 65 * 0.1129848, 0, 0, lbf},
		{"foot bolt", "65 in-lb", nm, 65 * 0.1129848, 0, 0, lbf},
		{"foot bolt", "7.3 ± 0.5 N·m", lbf, 7.3, 0.5, 0.5, nm},
		{"foot bolt", "7.3 N·m ± 0.5 N·m", lbf, 7.3, 0.5, 0.5, nm},
		{"foot bolt", "7.3 N·m +/- 0.5", lbf, 7.3, 0.5, 0.5, nm},
		{"foot bolt", "7,3+-0,5 Nm", lbf, 7.3, 0.5, 0.5, nm},
		{"foot bolt", "7.3 N·m ± 10 %", lbf, 7.3, 0.73, 0.73, nm},
		{"foot bolt", "6.8 to 7.8 N·m", lbf, 7.3, 0.5, 0.5, nm},
		{"foot bolt", "60-70 lbf·in", nm, 65 * 0.1129848, 5 * 0.1129848, 5 * 0.1129848, lbf},
		{"foot bolt", "7.3 (6.8 to 8) N·m", lbf, 7.3, 0.5, 0.7, nm},
		{"foot bolt", "7.3 N·m (6.8 – 8 N·m)", lbf, 7.3, 0.5, 0.7, nm},
		{"lower-leg oil", "8 mL", "", 8e-6, 0, 0, quantity.Millilitre},
		{"lower-leg oil", "8 to 10 cc", "", 9e-6, 1e-6, 1e-6, quantity.Millilitre},
		{"maximum pressure", "145 psi", "", 145 * 6894.757, 0, 0, quantity.PSI},
		{"travel", "150", quantity.NewtonMetre, 0.15, 0, 0, quantity.Millimetre},
		{"sag", "18 %", "", 0.18, 0, 0, Percent},
		{"sag", "15 to 20 %", "", 0.175, 0.025, 0.025, Percent},
		{"sag", "18 ± 2", "", 0.18, 0.02, 0.02, Percent},
		{"rebound range", "17 clicks", "", 17, 0, 0, ""},
		{"rebound range", "16 to 18", "", 17, 1, 1, ""},
		{"rebound turns", "2.5 turns", "", 2.5, 0, 0, ""},
		{"lower-leg service hours", "50 h", "", 50, 0, 0, Hours},
		{"lower-leg service months", "12 months", "", 12, 0, 0, Months},
		{"lower-leg minutes", "45 to 60 min", "", 52.5, 7.5, 7.5, Minutes},
	} {
		k, _ := Find(c.key)
		v, err := k.Parse(c.text, c.def)
		near := func(got, want float64) bool { return math.Abs(got-want) <= 5e-7*math.Max(math.Abs(c.nominal), 1e-9) }
		if err != nil || !near(v.NominalSI, c.nominal) || !near(v.MinusSI, c.minus) || !near(v.PlusSI, c.plus) || v.ShownUnit != c.unit || v.Entered != c.text {
			t.Errorf("%s %q: got %g −%g +%g %q, %v; want %g −%g +%g %q", c.key, c.text, v.NominalSI, v.MinusSI, v.PlusSI, v.ShownUnit, err, c.nominal, c.minus, c.plus, c.unit)
		}
	}
}

func TestAValueThatIsNotClearIsRefused(t *testing.T) {
	for _, c := range []struct{ key, text string }{
		{"foot bolt", ""}, {"foot bolt", "tight"}, {"foot bolt", "7.3 bar"}, {"foot bolt", "-7 N·m"}, {"foot bolt", "8 to 7 N·m"},
		{"foot bolt", "7.3 ± N·m"}, {"foot bolt", "7.3 ± tight"}, {"foot bolt", "7.3 (8 to 9) N·m"}, {"foot bolt", "7.3 (8) N·m"},
		{"foot bolt", "7.3 ± x %"}, {"foot bolt", "1,234 N·m"},
		{"maximum pressure", "140 to 150 psi"}, {"maximum pressure", "145 ± 5 psi"},
		{"rebound range", "many"}, {"rebound range", "-3"}, {"sag", "18 mm"}, {"lower-leg service hours", "50 days"},
	} {
		k, _ := Find(c.key)
		var bad *quantity.ParseError
		if v, err := k.Parse(c.text, quantity.NewtonMetre); !errors.As(err, &bad) || bad.Message == "" {
			t.Errorf("%s %q: got %+v, %v; want a sentence", c.key, c.text, v, err)
		}
	}
}

// What a form shows for a stored value reads back as the same value.
func TestWhatAFormShowsReadsBackTheSame(t *testing.T) {
	for _, v := range []Value{
		{Key: "foot bolt", NominalSI: 7.25, MinusSI: 0.5, PlusSI: 0.5, ShownUnit: quantity.NewtonMetre},
		{Key: "foot bolt", NominalSI: 7.3, MinusSI: 0.5, PlusSI: 0.7, ShownUnit: quantity.PoundForceInch},
		{Key: "lower-leg oil", NominalSI: 12.5e-6, ShownUnit: quantity.Millilitre},
		{Key: "sag", NominalSI: 0.175, MinusSI: 0.025, PlusSI: 0.025, ShownUnit: Percent},
		{Key: "rebound range", NominalSI: 17, MinusSI: 1, PlusSI: 1},
		{Key: "lower-leg service hours", NominalSI: 50, ShownUnit: Hours},
		{Key: "maximum pressure", NominalSI: 145 * 6894.757293168361, ShownUnit: quantity.PSI},
	} {
		k, _ := Find(v.Key)
		got, err := k.Parse(v.Typed(), "")
		if err != nil || !got.sameFigures(v) {
			t.Errorf("%q: got %+v, %v; want %+v", v.Typed(), got, err, v)
		}
	}
	if got := (Value{Key: "foot bolt", NominalSI: 7.3, ShownUnit: quantity.NewtonMetre, Entered: "7.3 Nm"}).Typed(); got != "7.3 Nm" {
		t.Errorf("what was typed comes back as %q", got)
	}
}
