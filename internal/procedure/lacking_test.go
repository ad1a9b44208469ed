package procedure

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/spec"
)

// What the lower-leg, the spring and the damper services ask for: common
// practice (no source).
func TestWhatASheetLacksForTheServices(t *testing.T) {
	blocks, services := Shipped()
	byCode := map[string]Block{}
	for _, b := range blocks {
		byCode[b.Code] = b
	}
	air := spec.Model{Kind: "fork", Spring: "air", Damper: "cartridge", SpringLeg: "left", DamperLeg: "right"}
	coil, shock := air, spec.Model{Kind: "rear shock", Spring: "air", Damper: "sealed"}
	coil.Spring = "coil"
	shared := air
	shared.Damper = "shared oil"
	value := func(key, place string) spec.Value { return spec.Value{Key: key, Place: place, NominalSI: 1} }
	first := slices.DeleteFunc(slices.Clone(services), func(s Service) bool {
		return !slices.Contains([]string{"lower-leg", "air-spring", "coil-spring", "other"}, s.Code)
	})
	damper := slices.DeleteFunc(slices.Clone(services), func(s Service) bool { return s.Code != "damper" })
	sealed := air
	sealed.Damper = "sealed"
	feet := []string{"foot bolt foot-left 1", "foot bolt foot-right 1", "lower-leg oil foot-left 1"}
	for _, c := range []struct {
		name  string
		model spec.Model
		want  []string
	}{
		{"a cartridge", air, append([]string{"lower-leg oil foot-right 1", "shaft fastener stanchion-right 1", "damper fill top-right 1", "damper seal head stanchion-right 1", "damper cap top-right 1"}, feet...)},
		{"sealed", sealed, append([]string{"lower-leg oil foot-right 1", "damper fill top-right 1", "damper seal head stanchion-right 1", "damper cap top-right 1"}, feet...)},
		{"shared oil", shared, append([]string{"shared oil top-right 1", "damper seal head stanchion-right 1", "damper cap top-right 1"}, feet...)},
	} {
		list, err := Lacking(damper, byCode, c.model, spec.Sheet{})
		if got := asks(list); err != nil || !slices.Equal(got, slices.Sorted(slices.Values(c.want))) {
			t.Errorf("damper service, %s: got %q, want %q (%v)", c.name, got, c.want, err)
		}
	}
	for _, c := range []struct {
		name  string
		model spec.Model
		sheet []spec.Value
		want  []string
	}{
		{"an empty sheet", air, nil, []string{
			"lower-leg oil foot-left 2", "lower-leg oil foot-right 2", "foot bolt foot-left 2", "foot bolt foot-right 2", "air top cap top-left 1", "air-side oil top-left 1",
		}},
		{"both feet at once", air, []spec.Value{value("foot bolt", "foot-left foot-right")}, []string{
			"lower-leg oil foot-left 2", "lower-leg oil foot-right 2", "air top cap top-left 1", "air-side oil top-left 1",
		}},
		{"all of it", air, []spec.Value{
			value("foot bolt", ""), value("lower-leg oil", "foot-left"), value("lower-leg oil", "foot-right"), value("air top cap", "top-left"), value("air-side oil", "top-left"),
		}, nil},
		{"a cap on the other side", air, []spec.Value{value("foot bolt", ""), value("lower-leg oil", ""), value("air top cap", "top-right"), value("air-side oil", "")}, []string{"air top cap top-left 1"}},
		{"a small cap", air, []spec.Value{value("foot bolt", ""), value("lower-leg oil", ""), value("top cap", "top-left"), value("air-side oil", "")}, nil},
		{"a coil", coil, nil, []string{
			"lower-leg oil foot-left 2", "lower-leg oil foot-right 2", "foot bolt foot-left 2", "foot bolt foot-right 2", "air top cap top-left 1",
		}},
		{"oil that is shared", shared, []spec.Value{value("foot bolt", ""), value("air top cap", ""), value("air-side oil", "")}, []string{
			"lower-leg oil foot-left 2", "shared oil top-right 2", "damper cap top-right 2",
		}},
		{"a shock, which has no steps for it", shock, nil, nil},
	} {
		list, err := Lacking(first, byCode, c.model, spec.Sheet{Values: c.sheet})
		if err != nil {
			t.Fatal(err)
		}
		got := asks(list)
		slices.Sort(c.want)
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
	}
}

// asks writes what is asked with the number of services that ask, sorted.
func asks(list []Ask) (got []string) {
	for _, a := range list {
		got = append(got, strings.TrimSpace(fmt.Sprintf("%s %s %d", a.SpecKey, a.Place, len(a.Services))))
	}
	slices.Sort(got)
	return got
}

// Whatever a step asks for can be entered where the step looks for it.
func TestEveryValueAStepAsksForHasAPlace(t *testing.T) {
	blocks, _ := Shipped()
	m := spec.Model{Kind: "fork", Spring: "air", Damper: "sealed", SpringLeg: "left", DamperLeg: "right"}
	for _, b := range blocks {
		if m.Kind = "fork"; b.Code == airCan.Code {
			m.Kind = "rear shock"
		}
		for _, s := range b.Steps {
			k, known := spec.Find(s.SpecKey)
			if s.SpecKey == "" {
				continue
			}
			if !known {
				t.Errorf("%s asks for %q, which no sheet can state", s.Key, s.SpecKey)
				continue
			}
			want := settle(s.Place, FactsOf(m, "unit only"))
			answers := func(place string) bool {
				_, ok := spec.Sheet{Values: []spec.Value{{Key: k.ID, Place: place}}}.Value(k.ID, want)
				return ok
			}
			if !slices.ContainsFunc(k.Places(m), answers) {
				t.Errorf("%s looks for %s at %q; it can be entered at %q", s.Key, k.ID, want, k.Places(m))
			}
		}
	}
}
