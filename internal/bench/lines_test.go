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

// The other side begins with the wrench's setting and the fluid just used, not
// with what went wrong: common practice (no source).
func TestTheOtherSideBeginsWithWhatWasJustUsed(t *testing.T) {
	side := func(id int64, kind procedure.Kind, key, place string) Step {
		return Step{ID: id, Seq: int(id), Block: "Z", Key: key, Kind: kind, SpecKey: string(kind), Place: place, Fluid: "bath oil"}
	}
	sheet := Sheet{Steps: []Step{
		side(1, procedure.Torque, "Z7", "foot-left"), side(2, procedure.Torque, "Z8", "foot-right"),
		side(3, procedure.Volume, "Z3", "foot-left"), side(4, procedure.Volume, "Z4", "foot-right"),
	}}
	bolt, oil := sheet.ByKey("Z8"), sheet.ByKey("Z4")
	if sheet.JustSet(bolt) != nil || sheet.FluidFor(oil) != "bath oil" {
		t.Error("something was used before either side is signed")
	}
	sheet.ByKey("Z7").Done = &Signoff{ValueSI: ptr(7.4), InWindow: true}
	if just := sheet.JustSet(bolt); just == nil || *just.ValueSI != 7.4 {
		t.Errorf("the bolt begins at %+v, want 7.4", just)
	}
	sheet.ByKey("Z7").Done.InWindow = false
	if sheet.JustSet(bolt) != nil {
		t.Error("a setting outside the window is proposed again")
	}
	sheet.ByKey("Z3").Done = &Signoff{Fluid: "fork oil", ValueSI: ptr(1e-5), InWindow: true}
	if got := sheet.FluidFor(oil); got != "fork oil" {
		t.Errorf("the other leg begins with %q, want what was just used", got)
	}
	oil.Fluid = "damper oil"
	if got := sheet.FluidFor(oil); got != "damper oil" {
		t.Errorf("a leg with a fluid of its own begins with %q", got)
	}
}

func TestWhatIsLeftOnPurposeWaits(t *testing.T) {
	sheet := lowers("A4", "S5", "W1")
	if next := sheet.After(sheet.ByKey("S6").Seq); next == nil || next.Key != "Z1" {
		t.Errorf("behind S6 comes %v, want Z1", next)
	}
	for _, key := range []string{"Z1", "Z3", "Z7", "Z9", "Z9*"} {
		sheet.give(key)
	}
	if next := sheet.After(sheet.ByKey("Z9").Seq); next == nil || next.Key != "S6" {
		t.Errorf("before the final check comes %v, want back to S6", next)
	}
}
