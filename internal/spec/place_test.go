package spec

import (
	"slices"
	"testing"
)

func TestWhereAValueApplies(t *testing.T) {
	left := Model{Kind: "fork", SpringLeg: "left", DamperLeg: "right"}
	for _, c := range []struct {
		key   string
		model Model
		want  []string
	}{
		{"foot bolt", left, []string{"foot-left foot-right", "foot-left", "foot-right"}},
		{"air top cap", left, []string{"top-left", "top-right", "top-left top-right"}},
		{"damper cap", left, []string{"top-right", "top-left", "top-left top-right"}},
		{"damper cap", Model{Kind: "fork"}, []string{"top-left top-right", "top-left", "top-right"}},
		{"axle", left, []string{"axle"}},
		{"travel", left, []string{""}},
		{"air top cap", Model{Kind: "rear shock", SpringLeg: "left"}, []string{""}},
	} {
		k, _ := Find(c.key)
		if got := k.Places(c.model); !slices.Equal(got, c.want) {
			t.Errorf("%s: got %q, want %q", c.key, got, c.want)
		}
	}
	for _, k := range Keys {
		for _, place := range k.Places(Model{Kind: "fork"}) {
			if !ValidPlace(place) {
				t.Errorf("%s: %q is not on the drawing", k.ID, place)
			}
		}
	}
}

// Common practice (no source).
func TestWhichKeysFitAModel(t *testing.T) {
	air := Model{Kind: "fork", Spring: "air", Damper: "cartridge", Adjusters: []string{"rebound"}}
	coil := Model{Kind: "fork", Spring: "coil", Damper: "shared oil"}
	shock := Model{Kind: "rear shock", Spring: "air", Damper: "sealed"}
	for key, want := range map[string][3]bool{ // air fork, coil fork, shock
		"foot bolt":          {true, true, false},
		"lower-leg oil":      {true, true, false},
		"air-side oil":       {true, false, true},
		"maximum pressure":   {true, false, true},
		"coil rate":          {false, true, false},
		"shared oil":         {false, true, false},
		"damper fill":        {true, false, true},
		"damper gas":         {true, false, false},
		"rebound range":      {true, false, false},
		"compression clicks": {false, false, false},
		"travel":             {true, true, true},
		"air can":            {false, false, true},
		"shock bolt":         {false, false, true},
	} {
		k, _ := Find(key)
		if got := [3]bool{k.Fits(air), k.Fits(coil), k.Fits(shock)}; got != want {
			t.Errorf("%s fits air fork, coil fork, shock: %v, want %v", key, got, want)
		}
	}
	known := slices.Concat(ModelKinds, ModelSprings, ModelDampers, ModelAdjusters, []string{TwoCrowns})
	for _, k := range Keys {
		for _, part := range k.Only {
			if !slices.Contains(known, part) {
				t.Errorf("%s is for %q, which no model has", k.ID, part)
			}
		}
	}
}
