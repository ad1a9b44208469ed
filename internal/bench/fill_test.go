package bench

import (
	"testing"

	"damperdesk/internal/procedure"
	"damperdesk/internal/spec"
)

// Some adjusters turn without clicks: common practice (no source). A quarter
// of a turn more or less is no fault.
func TestAnAdjusterInTurnsIsCountedInTurns(t *testing.T) {
	sheet := spec.Sheet{Values: []spec.Value{{Key: "rebound turns", NominalSI: 3.5}, {Key: "rebound setting turns", NominalSI: 1.5}}}
	list := fill([]procedure.Step{
		{Key: "Z9", Block: "Z", Kind: procedure.Count, SpecKey: "rebound range"},
		{Key: "V3.rebound", Block: "V", Kind: procedure.Count, SpecKey: "rebound clicks"},
		{Key: "V3.compression", Block: "V", Kind: procedure.Count, SpecKey: "compression clicks"},
	}, sheet)
	for i, want := range []string{"rebound turns", "rebound setting turns", "compression clicks"} {
		if list[i].SpecKey != want {
			t.Errorf("%s counts %s, want %s", list[i].Key, list[i].SpecKey, want)
		}
	}
	if nominal, minus, plus := list[0].window(); nominal == nil || *nominal-minus != 3.25 || *nominal+plus != 3.75 {
		t.Errorf("the range is %v, from %g below to %g above", nominal, minus, plus)
	}
	if nominal, minus, plus := list[1].window(); nominal == nil || minus != 0 || plus != 0 {
		t.Errorf("a setting has a window: %v, %g, %g", nominal, minus, plus)
	}
}
