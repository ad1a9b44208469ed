package spec_test

import (
	"slices"
	"testing"

	"damperdesk/internal/spec"
)

// library is invented; what tells forks apart, and how much each fact weighs, is
// common practice (no source).
func library() []spec.Model {
	fork := func(name string, stanchion float64, axle string, wheel, travel int, spring string) spec.Model {
		return spec.Model{Kind: "fork", Maker: "Halvard", Name: name, TravelMM: &travel, Spring: spring,
			Build: spec.Build{StanchionMM: &stanchion, Axle: axle, WheelMM: &wheel, Crowns: "one", Steerer: "28.6-38.1"}}
	}
	return []spec.Model{
		fork("Sill", 35, "15x110", 622, 150, "air"),
		fork("Ledge", 35, "15x110", 622, 160, "air"),
		fork("Scarp", 38, "20x110", 584, 170, "air"),
		{Kind: "fork", Maker: "Tindra", Name: "Lode", Spring: "coil", SpringLeg: "right"}, // nothing known of its build
		{Kind: "rear shock", Maker: "Tindra", Name: "Vein", Spring: "air"},
	}
}

func TestTheModelThatFitsBestStandsFirst(t *testing.T) {
	mm := func(d float64) *float64 { return &d }
	n := func(i int) *int { return &i }
	for _, c := range []struct {
		name string
		m    spec.Measured
		want []string
	}{
		{"nothing measured", spec.Measured{Kind: "fork"}, nil},
		{"a caliper is 0.2 mm off", spec.Measured{Kind: "fork", Build: spec.Build{StanchionMM: mm(34.8)}}, []string{"Sill", "Ledge"}},
		{"a whole size is another fork", spec.Measured{Kind: "fork", Build: spec.Build{StanchionMM: mm(37)}}, nil},
		{"the travel tells two of one build apart", spec.Measured{Kind: "fork", TravelMM: n(157), Build: spec.Build{StanchionMM: mm(35)}}, []string{"Ledge", "Sill"}},
		{"what is not known of a model is not against it", spec.Measured{Kind: "fork", Spring: "coil", Build: spec.Build{Axle: "15x110"}}, []string{"Lode", "Sill", "Ledge"}},
		{"a smaller wheel than the fork is for speaks less against it than a larger one", spec.Measured{Kind: "fork", Build: spec.Build{Crowns: "one", WheelMM: n(584)}}, []string{"Scarp", "Sill", "Ledge"}},
		{"as much for each as against it", spec.Measured{Kind: "fork", Build: spec.Build{Axle: "20x110", WheelMM: n(622)}}, []string{"Sill", "Ledge", "Scarp"}},
		{"more against it than for it", spec.Measured{Kind: "fork", Build: spec.Build{StanchionMM: mm(38), Axle: "20x110", Steerer: "28.6-38.1"}}, []string{"Scarp"}},
		{"the leg with the spring in it", spec.Measured{Kind: "fork", SpringLeg: "right"}, []string{"Lode"}},
		{"a spring in the other leg is another fork", spec.Measured{Kind: "fork", Spring: "coil", SpringLeg: "left"}, nil},
		{"another kind of unit", spec.Measured{Kind: "rear shock", Spring: "air"}, []string{"Vein"}},
	} {
		var got []string
		for _, f := range spec.Fitting(library(), c.m) {
			got = append(got, f.Model.Name)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestAFitSaysWhatFitsAndWhatDoesNot(t *testing.T) {
	d, travel := 35.1, 130
	m := spec.Measured{Kind: "fork", TravelMM: &travel, Build: spec.Build{StanchionMM: &d, Axle: "15x110"}}
	fit := spec.Fitting(library(), m)[0]
	want := []spec.Fact{
		{Name: "stanchions", Seen: "35.1 mm", Model: "35 mm", Fits: true},
		{Name: "axle", Seen: "15 × 110 mm", Model: "15 × 110 mm", Fits: true},
		{Name: "travel", Seen: "130 mm", Model: "150 mm", Soft: true},
	}
	if fit.Model.Name != "Sill" || !slices.Equal(fit.Facts, want) {
		t.Errorf("%s: %+v, want %+v", fit.Model.Name, fit.Facts, want)
	}
}

func TestWhatWasMeasuredStaysWithinItsLine(t *testing.T) {
	d, travel := 35.1, 130
	m := spec.Measured{TravelMM: &travel, Spring: "coil", Build: spec.Build{StanchionMM: &d, Axle: "15x110"}}
	for most, want := range map[int]string{
		120: "stanchions 35.1 mm, axle 15 × 110 mm, travel 130 mm, spring coil", 40: "stanchions 35.1 mm, axle 15 × 110 mm", 5: "",
	} {
		if got := m.Words(most); got != want {
			t.Errorf("at most %d characters: %q, want %q", most, got, want)
		}
	}
	if m.Nothing() || !(spec.Measured{Kind: "fork"}).Nothing() {
		t.Error("measured is nothing, or nothing is measured")
	}
}
