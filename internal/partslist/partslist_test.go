package partslist

import (
	"slices"
	"testing"
)

// A step is on the merged sheet once, whichever services bring it (design of the
// bench sheet); new wipers, foams and washers in pairs: common practice (no source).
func TestWantedOfSeveralServices(t *testing.T) {
	lines := []Line{
		{Service: "lower-leg", ItemID: 1, Kind: "wiper", Step: "W5", Qty: 2},
		{Service: "full", ItemID: 1, Kind: "wiper", Step: "W5", Qty: 2, Must: true},
		{Service: "lower-leg", ItemID: 2, Kind: "consumable", Qty: 1},
		{Service: "full", ItemID: 2, Kind: "consumable", Qty: 3},
		{Service: "full", ModelID: 7, ItemID: 3, Kind: "seal set", Step: "P6", Qty: 1, Must: true},
		{Service: "full", ItemID: 4, Kind: "seal set", Step: "P6", Qty: 1, Must: true},
	}
	for model, want := range map[int64][]Want{
		0: {{1, "W5", 2, true}, {2, "", 4, false}, {4, "P6", 1, true}},
		7: {{1, "W5", 2, true}, {2, "", 4, false}, {3, "P6", 1, true}},
		8: {{1, "W5", 2, true}, {2, "", 4, false}, {4, "P6", 1, true}},
	} {
		if got := WantedOf(lines, model); !slices.Equal(got, want) {
			t.Errorf("on model %d: %v, want %v", model, got, want)
		}
	}
}
