package bench_test

import (
	"testing"

	"damperdesk/internal/bench"
	"damperdesk/internal/procedure"
)

// The preload of a coil is the rider's as the clicks of a damper are: common
// practice (no source).
func TestTheTurnsOfACoilAreASettingOfTheRider(t *testing.T) {
	came, left := 3, 2
	in := bench.Step{Key: "A5.preload", Kind: procedure.Count, SpecKey: "preload turns", Done: &bench.Signoff{Outcome: bench.OutcomeDone, Count: &came}}
	out := bench.Step{Key: "V3.preload", Kind: procedure.Count, SpecKey: "preload turns"}
	sheet := bench.Sheet{Steps: []bench.Step{in, out}}
	if turns, ok := sheet.Expected(&sheet.Steps[1]); !ok || turns != 3 {
		t.Errorf("going back it begins at %v, %v; it came with 3", turns, ok)
	}
	if list := sheet.Settings(); len(list) != 1 || list[0].Name != "Preload" || list[0].Settled() {
		t.Errorf("before it goes back: %+v", list)
	}
	sheet.Steps[1].Done = &bench.Signoff{Outcome: bench.OutcomeDone, Count: &left}
	if list := sheet.Settings(); len(list) != 1 || !list[0].Settled() || *list[0].Received.Count != 3 || *list[0].Returned.Count != 2 {
		t.Errorf("as it goes back: %+v", list)
	}
	if list := sheet.Measured(); len(list) > 0 {
		t.Errorf("a setting stands among what was measured: %+v", list)
	}
}
