package procedure

import (
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/spec"
)

// oiled is an air fork whose sheet names oil for the air side.
func oiled(change func(*Facts)) Facts {
	f := airFork
	f.Stated = []string{"air-side oil", "air top cap"}
	if change != nil {
		change(&f)
	}
	return f
}

// Kinds, stops and groups (in brackets, by their first line) of the spring's
// block: common practice (no source). A star is a line asked only because a
// fact is not known.
func TestTheSpringOfEveryFork(t *testing.T) {
	for _, c := range []struct {
		name  string
		facts Facts
		want  string
	}{
		{"air", oiled(nil), "P1:check:stop P2:count(P2) P3:check(P2) P4:picture(P2) P5:check(P2) P6:fit(P6) P7:check(P6) P8:check:stop P9:volume P10:fit P11:torque"},
		{"a sheet that names no oil", airFork, "P1:check:stop P2:count(P2) P3:check(P2) P4:picture(P2) P5:check(P2) P6:fit(P6) P7:check(P6) P8:check:stop P9:volume* P10:fit P11:torque"},
		{"a small cap, a leak test", oiled(func(f *Facts) { f.Stated = []string{"air-side oil", "top cap", "leak test pressure"} }),
			"P1:check:stop P2:count(P2) P3:check(P2) P4:picture(P2) P5:check(P2) P6:fit(P6) P7:check(P6) P8:check:stop P9:volume P10:fit P11.small:torque P12:wait"},
		{"coil", oiled(func(f *Facts) { f.Spring = "coil" }),
			"P1.coil:check:stop P2.coil:check(P2.coil) P4:picture(P2.coil) P5.coil:reading(P2.coil) P7.coil:check P11:torque"},
	} {
		var got []string
		for _, s := range shippedService(t, "air-spring", c.facts) {
			line := s.Key + ":" + string(s.Kind)
			if s.StopHere {
				line += ":stop"
			}
			if s.Group != "" {
				line += "(" + s.Group + ")"
			}
			if s.Unsure {
				line += "*"
			}
			if s.Block == "P" {
				got = append(got, line)
			}
		}
		if want := strings.Fields(c.want); !slices.Equal(got, want) {
			t.Errorf("%s:\n got %v\nwant %v", c.name, got, want)
		}
	}
}

// The spring comes after the lowers are off and before they are cleaned, and
// shared oil goes back in as in a lower-leg service: common practice (no
// source).
func TestWhatAnAirSpringServiceBrings(t *testing.T) {
	f := oiled(func(f *Facts) { f.Damper = "shared oil" })
	list := keys(shippedService(t, "air-spring", f))
	var last int
	for _, key := range []string{"A1", "S5", "S8", "S10", "P1", "P11", "D1.1", "D1.3", "W1", "Z1", "Z8", "D1.9", "D1.13", "V1", "V9"} {
		at := slices.Index(list, key)
		if at < last || at < 0 {
			t.Errorf("%s is out of its place in %v", key, list)
		}
		last = at
	}
	lowerLeg := keys(shippedService(t, "lower-leg", f))
	without := slices.DeleteFunc(list, func(key string) bool { return strings.HasPrefix(key, "P") })
	if !slices.Equal(without, lowerLeg) {
		t.Errorf("without its own steps:\n got %v\nwant %v", without, lowerLeg)
	}
}

// A service that cleans and closes the lowers counts as a lower-leg service:
// common practice (no source).
func TestWhatClosesTheLowersCoversThem(t *testing.T) {
	_, services := Shipped()
	for _, s := range services {
		closes := slices.Contains(s.Blocks, "W") && slices.Contains(s.Blocks, "Z")
		if covers := s.Code == "lower-leg" || slices.Contains(s.Covers, "lower-leg"); covers != closes {
			t.Errorf("%s covers a lower-leg service: %v, closes the lowers: %v", s.Code, covers, closes)
		}
	}
}

func TestWhatCountsAsDone(t *testing.T) {
	_, services := Shipped()
	for _, c := range []struct{ codes, want string }{
		{"lower-leg", "lower-leg"},
		{"air-spring", "lower-leg air-spring"},
		{"other coil-spring", "lower-leg coil-spring other"},
		{"full", "lower-leg air-spring coil-spring damper full crown-steerer"},
		{"cartridge", "damper cartridge"},
		{"crown-steerer strip", "crown-steerer strip"},
		{"", ""},
	} {
		var got []string
		for _, s := range Done(services, strings.Fields(c.codes)) {
			got = append(got, s.Code)
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%q: %q count as done, want %q", c.codes, got, c.want)
		}
	}
}

func TestAServiceOfOneSpringSuitsNoOther(t *testing.T) {
	_, services := Shipped()
	for _, c := range []struct{ spring, want string }{
		{"air", "lower-leg air-spring damper cartridge full bushing crown-steerer strip air-can other"},
		{"coil", "lower-leg coil-spring damper cartridge full bushing crown-steerer strip other"},
		{"none", "lower-leg damper cartridge full bushing crown-steerer strip other"},
		{"", "lower-leg air-spring coil-spring damper cartridge full bushing crown-steerer strip air-can other"},
	} {
		var got []string
		for _, s := range services {
			if s.Suits(c.spring) {
				got = append(got, s.Code)
			}
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("spring %q: %q, want %q", c.spring, got, c.want)
		}
	}
}

// A quarter of an hour proves a repaired fork; one that came for losing air
// stands overnight: common practice (no source).
func TestTheNightOfAForkThatLosesAir(t *testing.T) {
	loses := []string{"just-due", "loses-air"}
	for _, c := range []struct {
		name           string
		spring         string
		symptoms       []string
		minutes, night bool
	}{
		{"nothing wrong", "air", nil, true, false},
		{"another complaint", "air", []string{"sticky"}, true, false},
		{"loses air", "air", loses, false, true},
		{"loses air, spring not known", "", loses, false, true},
		{"coil", "coil", loses, true, false},
	} {
		f := oiled(func(f *Facts) { f.Spring, f.Symptoms = c.spring, c.symptoms })
		for _, service := range []string{"air-spring", "lower-leg"} {
			list := keys(shippedService(t, service, f))
			if minutes, night := slices.Contains(list, "V4"), slices.Contains(list, "V4.overnight"); minutes != c.minutes || night != c.night {
				t.Errorf("%s, %s: V4 %v, V4.overnight %v; want %v, %v", c.name, service, minutes, night, c.minutes, c.night)
			}
		}
	}
}

func TestFactsOfASpecSheet(t *testing.T) {
	at := func(key, place string, si float64) spec.Value {
		return spec.Value{Key: key, Place: place, NominalSI: si}
	}
	base := Facts{SpringLeg: "left", DamperLeg: "right"}
	for _, c := range []struct {
		name   string
		values []spec.Value
		axle   string
		want   []string
	}{
		{"nothing", nil, "", nil},
		{"air fork", []spec.Value{at("axle", "axle", 12), at("air top cap", "top-left", 28), at("air-side oil", "top-left", 3e-6)}, "threaded",
			[]string{"air-side oil", "air top cap"}},
		{"small cap of the damper alone", []spec.Value{at("top cap", "top-right", 4)}, "", nil},
		{"small cap of the spring", []spec.Value{at("top cap", "top-left", 4)}, "", []string{"top cap"}},
		{"no oil, said so", []spec.Value{at("air-side oil", "top-left", 0)}, "", nil},
		{"pinch bolts", []spec.Value{at("axle pinch", "axle", 5)}, "", []string{"axle pinch"}},
		{"leak test", []spec.Value{at("leak test pressure", "", 2e5)}, "", []string{"leak test pressure"}},
	} {
		got := base.With(spec.Sheet{Values: c.values})
		if got.Axle != c.axle || !slices.Equal(got.Stated, c.want) {
			t.Errorf("%s: axle %q, stated %q; want %q, %q", c.name, got.Axle, got.Stated, c.axle, c.want)
		}
	}
}

func TestWhatTheLibrarySaysStandsOnTheSteps(t *testing.T) {
	travel := 140
	f := FactsOf(spec.Model{Kind: "fork", Maker: "Halvard", Name: "Sill", TravelMM: &travel, Spring: "air", Damper: "none",
		SpringLeg: "right", DamperLeg: "left", Lowers: "arch back"}, "unit only")
	for _, c := range []struct {
		facts Facts
		key   string
		want  string
	}{
		{f, "A3", "By the ticket: Halvard Sill, 140\u00a0mm of travel, air spring, no damper. Read model"},
		{f, "Z1", "By the model: spring on the rider’s right, damper on the rider’s left, arch behind. It is right"},
		{Facts{Kind: "fork"}, "A3", "Read model"},
		{Facts{Kind: "fork"}, "Z1", "It is right"},
	} {
		for _, s := range shippedSteps(t, c.facts) {
			if s.Key == c.key && !strings.HasPrefix(s.Text, c.want) {
				t.Errorf("%s begins %q, want %q", c.key, s.Text, c.want)
			}
		}
	}
}

// A fork that is said to have a coil in place of its air still has its air let
// out or is said to have none: air out is the default, common practice (no
// source).
func TestAForkBuiltWithAirIsNeverStrippedUnasked(t *testing.T) {
	blocks, services := Shipped()
	byCode := map[string]Block{}
	for _, b := range blocks {
		byCode[b.Code] = b
	}
	lower, _ := ByCode(services, "lower-leg")
	for _, c := range []struct {
		spring, built string
		asked, unsure bool
	}{
		{"air", "air", true, false}, {"coil", "air", true, true}, {"coil", "coil", false, false}, {"coil", "", false, false}, {"", "", true, true},
	} {
		steps, err := Merge([]Service{lower}, byCode, Facts{Kind: "fork", Spring: c.spring, Built: c.built})
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(steps, func(s Step) bool { return s.Key == "S5" })
		if (i >= 0) != c.asked || i >= 0 && steps[i].Unsure != c.unsure {
			t.Errorf("spring %q, built with %q: asked %v, want %v, to be left out %v", c.spring, c.built, i >= 0, c.asked, c.unsure)
		}
	}
}
