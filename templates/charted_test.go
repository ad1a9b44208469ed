package templates

import (
	"strings"
	"testing"

	"damperdesk/internal/bench"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

func TestTheChartSpeaksOfThisRider(t *testing.T) {
	prefs := Prefs{PressureUnit: quantity.PSI, MassUnit: quantity.Kilogram}
	pa, clicks := 85*6894.757293168361, 6 // NIST SP 811, appendix B.8
	for _, c := range []struct {
		of   bench.Charted
		want string
	}{
		{bench.Charted{RiderKG: 82, PressurePa: &pa, Source: "manual, page 8"}, "By the chart for 82 kg: 85 psi. Source: manual, page 8."},
		{bench.Charted{RiderKG: 82, Count: &clicks, Form: "clicks", Source: "manual"}, "By the chart for 82 kg: 6 clicks from closed. Source: manual."},
		{bench.Charted{RiderKG: 118, Ends: &spec.Ends{AtKG: 110}}, "Nothing for 118 kg: the chart ends at 110 kg."},
		{bench.Charted{RiderKG: 40, Ends: &spec.Ends{AtKG: 50, Light: true}}, "Nothing for 40 kg: the chart begins at 50 kg."},
	} {
		if got := strings.ReplaceAll(chartedWords(prefs, c.of), "\u00a0", " "); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}
