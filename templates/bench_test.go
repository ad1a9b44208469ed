package templates

import (
	"strings"
	"testing"

	"damperdesk/internal/bench"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
)

// Whoever pumps a fork up sees the pressure that is never gone over. 120 psi are
// 827.370875 kPa by the pound-force per square inch of 6894.757293168 Pa, NIST SP 811.
func TestTheCautionNamesTheMaximum(t *testing.T) {
	most := 120 * 6894.757293168
	s := bench.Step{Kind: procedure.Reading, Quantity: quantity.KindPressure, ShownUnit: quantity.PSI, Caution: "Keep your face away."}
	if got := (Base{}).caution(s); got != s.Caution {
		t.Errorf("without a maximum: got %q, want %q", got, s.Caution)
	}
	s.CeilingSI = &most
	if got, want := (Base{}).caution(s), "The maximum is 120\u00a0psi."; !strings.HasSuffix(got, want) || !strings.HasPrefix(got, s.Caution) {
		t.Errorf("with one: got %q, want the caution and %q", got, want)
	}
}

// Who works from the printed sheet reads which fluid goes in, not only how much.
func TestAVolumeNamesItsFluid(t *testing.T) {
	ml := 10e-6
	s := bench.Step{Kind: procedure.Volume, Quantity: quantity.KindVolume, ShownUnit: quantity.Millilitre, NominalSI: &ml, Fluid: "bath oil, 20 weight"}
	if got, want := (Base{}).asks(s), "volume, 10\u00a0mL, bath oil, 20 weight"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestACountSaysWhatItCounts(t *testing.T) {
	one, two, clicks := 1.0, 2.0, 22.0
	for _, c := range []struct {
		key     string
		nominal *float64
		want    string
	}{
		{"volume spacers", &one, "spacer"},
		{"volume spacers", &two, "spacers"},
		{"rebound range", &clicks, "clicks"},
		{"preload turns", &one, "turn"},
		{"preload turns", &two, "turns"},
	} {
		p := StepPage{Step: &bench.Step{Kind: procedure.Count, SpecKey: c.key, NominalSI: c.nominal}}
		if got := p.specUnit(); got != c.want {
			t.Errorf("%s, %v: got %q, want %q", c.key, *c.nominal, got, c.want)
		}
		signed := bench.Step{Kind: procedure.Count, SpecKey: c.key, Done: &bench.Signoff{Outcome: bench.OutcomeDone, Count: c.nominal}}
		if got, want := (Base{}).got(signed), countText(*c.nominal)+"\u00a0"+c.want; got != want {
			t.Errorf("%s signed: got %q, want %q", c.key, got, want)
		}
	}
	knob := bench.Step{Kind: procedure.Count, SpecKey: "rebound clicks", Done: &bench.Signoff{Outcome: bench.OutcomeDone, Count: &two}}
	if got := (Base{}).got(knob); got != "2\u00a0from closed" {
		t.Errorf("a knob that may have clicks or turns: %q", got)
	}
}
