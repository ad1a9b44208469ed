package templates

import (
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/bench"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
)

// The customer's bench record says a torque as the sheet does: to the mark it
// was set to, and a reading as a reading.
func TestTorqueOfTheBenchRecord(t *testing.T) {
	nm := 7.25
	for how, want := range map[string]string{
		bench.HowSet:      "set to 7.25\u00a0N·m, clicked",
		bench.HowMeasured: ": 7.3\u00a0N·m",
		bench.HowByHand:   "by hand",
	} {
		d := bench.Signoff{Outcome: bench.OutcomeDone, How: how, ValueSI: &nm, ShownUnit: quantity.NewtonMetre, InWindow: true}
		if how == bench.HowByHand {
			d.ValueSI = nil
		}
		got := torqueText(CustomerPage{}, bench.Step{Key: "Z7", Title: "Foot", Kind: procedure.Torque, Quantity: quantity.KindTorque, Done: &d})
		if !strings.Contains(got, want) || how == bench.HowMeasured && strings.Contains(got, "set to") {
			t.Errorf("%s: got %q, want it to say %q", how, got, want)
		}
	}
}

// Customers read names, not what the bench is told to do.
func TestWhatIsMeasuredHasANameForCustomers(t *testing.T) {
	asked := []procedure.Kind{procedure.Torque, procedure.Volume, procedure.Reading, procedure.Count}
	own := []string{"A4", "A5", "V2", "V3", "V9", "F"} // settings, the verdict and work in own words have their own places
	blocks, _ := procedure.Shipped()
	for _, b := range blocks {
		for _, s := range b.Steps {
			root, _, _ := strings.Cut(s.Key, ".")
			measured := slices.Contains(asked, s.Kind) || len(s.Grades) > 0
			if _, named := measuredNames[s.Key]; measured && !named && !slices.Contains(own, root) && !slices.Contains(own, b.Code) {
				t.Errorf("step %s, “%s”, has no name for customers", s.Key, s.Title)
			}
		}
	}
}
