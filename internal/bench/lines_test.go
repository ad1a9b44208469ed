package bench

import (
	"testing"

	"damperdesk/internal/procedure"
)

// A rider's settings go back as they came unless told otherwise: common
// practice (no source).
func TestWhatIsExpected(t *testing.T) {
	sheet := lowers("A4")
	sheet.ByKey("V2").NominalSI = ptr(552000.0)
	sheet.ByKey("Z7").NominalSI = ptr(7.3)
	check := func(name, key string, want float64, known bool) {
		t.Helper()
		if got, ok := sheet.Expected(sheet.ByKey(key)); got != want || ok != known {
			t.Errorf("%s: %s begins at %v, %v; want %v, %v", name, key, got, ok, want, known)
		}
	}
	check("the sheet's torque", "Z7", 7.3, true)
	check("nothing to go by", "A4", 0, false)
	check("pressure as received not read", "V2", 552000, true)
	sheet.ByKey("A4").Done.ValueSI = ptr(538000.0)
	check("pressure as received", "V2", 538000, true)
	sheet.ByKey("A4").Done.ValueSI = ptr(0.0)
	check("arrived empty", "V2", 552000, true)
}

func TestLinesThatShareAPress(t *testing.T) {
	sheet := lowers("A4", "S5")
	for _, key := range []string{"S5", "S6", "W1", "Z3"} {
		sheet.ByKey(key).Group = "S5"
	}
	var keys []string
	for _, step := range sheet.Together(sheet.ByKey("S6")) {
		keys = append(keys, step.Key)
	}
	if len(keys) != 2 || keys[0] != "S6" || keys[1] != "W1" {
		t.Errorf("with S6 go %v, want S6 and W1: not the signed stop-here, nor the volume", keys)
	}
	if got := sheet.Together(sheet.ByKey("A4")); len(got) != 1 {
		t.Errorf("a step of no group goes with %d others", len(got)-1)
	}
}

func TestTwins(t *testing.T) {
	side := func(key, place string) Step {
		return Step{Block: "Z", Key: key, Kind: procedure.Torque, SpecKey: "foot bolt", Place: place}
	}
	sheet := Sheet{Steps: []Step{side("Z7", "foot-left"), side("Z8", "foot-right"), side("Z5", "foot-left foot-right")}}
	if twin := sheet.Twin(&sheet.Steps[0]); twin == nil || twin.Key != "Z8" {
		t.Errorf("twin of Z7: %v, want Z8", twin)
	}
	if twin := sheet.Twin(&sheet.Steps[2]); twin != nil {
		t.Errorf("twin of a step on both sides: %s, want none", twin.Key)
	}
}
