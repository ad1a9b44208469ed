package spec

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/fault"
)

// The bead seat diameters are those of ISO 5775-1, from memory; which of them the
// trade calls by which inches is common practice (no source).
func TestWheelsAreBeadSeatDiameters(t *testing.T) {
	iso := []int{305, 349, 355, 406, 451, 507, 520, 540, 559, 571, 584, 590, 622, 630, 635}
	called := map[int]string{622: "29", 584: "27.5", 559: "26", 507: "24", 406: "20"}
	for _, w := range Wheels {
		if !slices.Contains(iso, w.MM) || called[w.MM] != w.Inch {
			t.Errorf("%d mm is called %s in; ISO 5775 has it: %t", w.MM, w.Inch, slices.Contains(iso, w.MM))
		}
	}
}

// An inch is 25.4 mm exactly (NIST SP 811, appendix B.8).
func TestSteerersSayTheirInches(t *testing.T) {
	inches := map[string]float64{"1": 1, "1⅛": 1.125, "1½": 1.5, "1.8": 1.8}
	for _, s := range Steerers {
		_, bracket, _ := strings.Cut(s.Words, "(")
		bracket, _, _ = strings.Cut(bracket, " in)")
		for i, inch := range strings.Split(bracket, " to ") {
			var mm float64
			if _, err := fmt.Sscan(strings.Split(s.Code, "-")[i], &mm); err != nil || math.Abs(mm-inches[inch]*25.4) > 0.05 {
				t.Errorf("%s: %s in is %g mm, want %g (%v)", s.Words, inch, mm, inches[inch]*25.4, err)
			}
		}
	}
}

func TestABuildThatCannotBeIsRefused(t *testing.T) {
	wheel, thin := 700, 12.0
	bad := sill
	bad.Build = Build{WheelMM: &wheel, StanchionMM: &thin, Crowns: "three", Steerer: "30", Axle: "10x10"}
	shock := sill
	shock.Kind = "rear shock"
	big, thick := 622, 36.0
	shock.Build = Build{WheelMM: &big, StanchionMM: &thick, Crowns: "one", Steerer: "28.6", Axle: "15x110"}
	for _, c := range []struct {
		m    Model
		want []string
	}{
		{bad, []string{"axle", "crowns", "stanchion", "steerer", "wheel"}},
		{shock, []string{"axle", "crowns", "steerer", "wheel"}},
	} {
		var invalid *fault.Invalid
		if err := c.m.valid(); !errors.As(err, &invalid) || !slices.Equal(slices.Sorted(maps.Keys(invalid.Fields)), c.want) {
			t.Errorf("%s with %+v: %v, want refused %v", c.m.Kind, c.m.Build, invalid, c.want)
		}
	}
}

// Each size on offer goes into the database and comes back.
func TestEverySizeOnOfferIsKept(t *testing.T) {
	d := withModel(t)
	d34 := 34.5
	for i := range max(len(Wheels), len(Steerers), len(Axles)) {
		m := sill
		m.Years = fmt.Sprint(2000 + i)
		wheel := Wheels[i%len(Wheels)].MM
		m.Build = Build{WheelMM: &wheel, StanchionMM: &d34, Crowns: ModelCrowns[i%len(ModelCrowns)],
			Steerer: Steerers[i%len(Steerers)].Code, Axle: Axles[i%len(Axles)].Code}
		id, err := AddModel(d.ctx, d.tx, d.by, m)
		if err != nil {
			t.Fatal(err)
		}
		got, err := GetModel(d.ctx, d.tx, id)
		if err != nil || *got.WheelMM != wheel || *got.StanchionMM != d34 || got.Crowns != m.Crowns || got.Steerer != m.Steerer || got.Axle != m.Axle {
			t.Errorf("got %+v, want %+v (%v)", got.Build, m.Build, err)
		}
	}
	open := sill
	open.Lowers = ""
	if err := ChangeModel(d.ctx, d.tx, d.by, d.model, 1, open); err != nil {
		t.Fatal(err)
	}
	if got, err := GetModel(d.ctx, d.tx, d.model); err != nil || got.Build != (Build{}) {
		t.Errorf("left open: %+v, %v", got.Build, err)
	}
}

// Two crowns have bolts of their own: common practice (no source).
func TestCrownBoltsAreAskedOfTwoCrowns(t *testing.T) {
	k, _ := Find("crown pinch")
	for crowns, fits := range map[string]bool{"": true, "two": true, "one": false} {
		m := sill
		m.Crowns = crowns
		if k.Fits(m) != fits {
			t.Errorf("%q crowns: offered %t, want %t", crowns, !fits, fits)
		}
	}
}
