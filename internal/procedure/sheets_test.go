package procedure

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/fault"
)

// guards is what has to be signed before what, wherever both stand on a sheet:
// common practice (no source), from the sequences of single services and from
// what each stop-here is there for. A key without its dot-word stands for all
// of its lines.
var guards = [][2]string{
	{"A11", "S4"}, {"S1", "S3"}, {"S3", "S4"}, {"S5", "S6"}, {"S5", "S7"}, {"S5", "P1"}, {"S5", "D1.1"}, {"S5", "D2.1"}, {"S5", "C1"},
	{"C3", "S7"}, {"S8", "P1"}, {"S8", "W1"}, {"S8", "D1.1"}, {"S8", "D2.1"}, {"S10", "W1"},
	{"P1", "P2"}, {"P1", "P3"}, {"P8", "P9"}, {"P8", "P11"}, {"P8", "Z1"}, {"P11", "P12"}, {"P12", "Z1"},
	{"D1.1", "D1.2"}, {"D1.8", "D1.9"}, {"D1.8", "Z1"}, {"D1.9", "D1.12"}, {"D1.13", "V1"},
	{"D2.1", "D2.2"}, {"D2.1", "D2.14"}, {"D2.14", "D2.2"}, {"D2.12", "D2.13"}, {"D2.13", "D2.15"}, {"D2.13", "Z1"}, {"D2.13", "V1"}, {"D2.15", "V1"},
	{"C5", "C6"}, {"C6", "W1"}, {"C6", "V2"}, {"C6", "R1"},
	{"W1", "U1"}, {"U2", "U3"}, {"U3", "U5"}, {"U8", "W4"}, {"U9", "W4"},
	{"W6", "Z1"}, {"Z1", "Z2"}, {"Z1", "Z3"}, {"Z1", "Z4"}, {"Z6", "Z7"}, {"Z8", "V1"}, {"Z8", "V2"}, {"Z9", "V1"},
	{"Q2", "V9"}, {"F1", "V2"}, {"V1", "R3"}, {"R3", "V2"}, {"V2", "R4"}, {"R5", "R8"}, {"R7", "R8"}, {"R7", "R7.pinch"}, {"R7.lever", "R7.pinch"}, {"R8", "R9"}, {"R9", "V9"}, {"V2", "V4"}, {"V4", "V9"},
}

// everyUnit calls with the facts of every kind of fork there is, known or not.
func everyUnit(of func(Facts)) {
	for _, spring := range []string{"air", "coil", "none", ""} {
		for _, damper := range []string{"shared oil", "sealed", "cartridge", "none", ""} {
			for _, cameAs := range []string{"unit only", "unit and wheel", "whole bike", ""} {
				for _, crowns := range []string{"one", "two", ""} {
					of(Facts{Kind: "fork", Spring: spring, Damper: damper, SpringLeg: "left", DamperLeg: "right", Crowns: crowns, CameAs: cameAs,
						Adjusters: []string{"rebound", "compression"}, ModelKnown: true, Stated: []string{"cartridge from the top"}})
				}
			}
		}
	}
}

func shippedBlocks() (map[string]Block, []Service) {
	blocks, services := Shipped()
	byCode := map[string]Block{}
	for _, b := range blocks {
		byCode[b.Code] = b
	}
	return byCode, services
}

// Every two services of every kind of fork make a sheet that can be worked
// through: no line twice, every stop-here before what it guards, no torque
// without its value's key, groups of at most six plain lines, the proof last.
func TestEverySheetOfTheShippedServices(t *testing.T) {
	blocks, services := shippedBlocks()
	services = slices.DeleteFunc(services, func(s Service) bool { return !s.For("fork") })
	sheets := 0
	everyUnit(func(f Facts) {
		for i, one := range services {
			for _, two := range services[i:] {
				steps, err := Merge([]Service{one, two}, blocks, f)
				if errors.As(err, new(fault.Conflict)) && slices.Contains([]string{one.Code, two.Code}, "cartridge") && f.Damper != "cartridge" {
					continue // none that is known, so nothing may stay on
				}
				if err != nil {
					t.Fatalf("%s and %s of %+v: %v", one.Code, two.Code, f, err)
				}
				sheets++
				if wrong := whatIsWrong(steps); wrong != "" {
					t.Fatalf("%s and %s of %+v: %s\n%v", one.Code, two.Code, f, wrong, keys(steps))
				}
			}
		}
	})
	t.Logf("%d sheets", sheets)
}

func whatIsWrong(steps []Step) string {
	first, last, groups := map[string]int{}, map[string]int{}, map[string]int{}
	for i, s := range steps {
		number := s.Key
		if at := strings.LastIndex(s.Key, "."); at > 0 && strings.Trim(s.Key[at+1:], "0123456789") != "" {
			number = s.Key[:at]
		}
		if _, twice := first[s.Key]; twice {
			return s.Key + " stands twice"
		}
		first[s.Key], last[s.Key] = i, i
		if _, ok := first[number]; !ok {
			first[number] = i
		}
		last[number] = i
		measured := s.Kind == Torque || s.Kind == Volume
		if measured && s.SpecKey == "" {
			return s.Key + " has no spec key"
		}
		if s.Group != "" {
			groups[s.Group]++
			if measured || s.StopHere || s.SecondCheck || groups[s.Group] > maxTogether {
				return s.Key + " may not be in its group"
			}
		}
	}
	for _, g := range guards {
		at, guarded := last[g[0]]
		of, there := first[g[1]]
		if guarded && there && at > of {
			return g[0] + " stands after " + g[1]
		}
	}
	if steps[len(steps)-1].Key != "V9" {
		return "the verdict is not the last line"
	}
	return ""
}

// Which blocks a service brings to which fork, in their order: common practice
// (no source), from the sequences of single services.
func TestTheBlocksOfEveryService(t *testing.T) {
	blocks, services := shippedBlocks()
	for _, c := range []struct{ service, spring, damper, want string }{
		{"lower-leg", "air", "cartridge", "A S W Z V"},
		{"lower-leg", "coil", "shared oil", "A S D1 W Z D1 V"},
		{"air-spring", "air", "sealed", "A S P W Z V"},
		{"damper", "air", "sealed", "A S D1 W Z V"},
		{"damper", "coil", "shared oil", "A S D1 W Z D1 V"},
		{"damper", "air", "cartridge", "A S D2 W Z V"},
		{"damper", "air", "", "A S D1 D2 W Z D1 V"},
		{"cartridge", "air", "cartridge", "A S D2 Z V"},
		{"full", "air", "cartridge", "A S C S P D2 C W Z V"},
		{"full", "coil", "sealed", "A S C S P D1 C W Z V"},
		{"full", "air", "shared oil", "A S C S P D1 C W Z D1 V"},
		{"full bushing", "air", "cartridge", "A S C S P D2 C W U W Z V"},
		{"bushing", "air", "cartridge", "A S W U W Z V"},
		{"bushing", "air", "shared oil", "A S D1 W U W Z D1 V"},
		{"crown-steerer", "air", "cartridge", "A S C V"},
		{"strip", "air", "cartridge", "A S P W Q V"},
		{"strip", "coil", "shared oil", "A S P D1 W Q V"},
	} {
		f := Facts{Kind: "fork", Spring: c.spring, Damper: c.damper, CameAs: "unit only", Adjusters: []string{"rebound"}, ModelKnown: true,
			Stated: []string{"cartridge from the top"}}
		wanted := slices.DeleteFunc(slices.Clone(services), func(s Service) bool { return !slices.Contains(strings.Fields(c.service), s.Code) })
		steps, err := Merge(wanted, blocks, f)
		if err != nil {
			t.Errorf("%s, %s, %s: %v", c.service, c.spring, c.damper, err)
			continue
		}
		var got []string
		for _, s := range steps {
			got = append(got, s.Block)
		}
		if got = slices.Compact(got); !slices.Equal(got, strings.Fields(c.want)) {
			t.Errorf("%s, %s spring, %q damper: %v, want %s", c.service, c.spring, c.damper, got, c.want)
		}
	}
}

// The lowers stay on only where the sheet says so: common practice (no source).
func TestTheLowersStayOnWhereTheSheetSaysSo(t *testing.T) {
	blocks, services := shippedBlocks()
	services = slices.DeleteFunc(services, func(s Service) bool { return s.Code != "cartridge" })
	for _, c := range []struct {
		damper       string
		stated, none []string
		allowed      bool
	}{
		{"cartridge", []string{"cartridge from the top"}, nil, true},
		{"cartridge", nil, nil, false},
		{"cartridge", nil, []string{"cartridge from the top"}, false},
		{"sealed", []string{"cartridge from the top"}, nil, false},
		{"", []string{"cartridge from the top"}, nil, false},
	} {
		steps, err := Merge(services, blocks, Facts{Kind: "fork", Spring: "air", Damper: c.damper, Stated: c.stated, StatedNone: c.none})
		if allowed := err == nil; allowed != c.allowed {
			t.Errorf("%q, stated %v, none %v: allowed %v (%v)", c.damper, c.stated, c.none, allowed, err)
		}
		if list := keys(steps); slices.Contains(list, "S7") || slices.Contains(list, "S8") || err == nil && !slices.Contains(list, "S5") {
			t.Errorf("%q: %v", c.damper, list)
		}
	}
}

// Signing screens of a full service in a normal run, the second check among
// them, at most 40: common practice (no source). The sheet states what it has,
// a leak test, a charge of gas and a floating piston as none.
func TestAFullServiceFitsItsScreens(t *testing.T) {
	blocks, services := shippedBlocks()
	services = slices.DeleteFunc(services, func(s Service) bool { return s.Code != "full" })
	for _, damper := range []string{"cartridge", "sealed", "shared oil"} {
		for _, spring := range []string{"air", "coil"} {
			steps, err := Merge(services, blocks, Facts{Kind: "fork", Spring: spring, Damper: damper, SpringLeg: "left", DamperLeg: "right",
				Adjusters: []string{"rebound", "compression"}, Crowns: "one", CameAs: "unit only", ModelKnown: true,
				Stated: []string{"oil height", "air top cap"}, StatedNone: []string{"damper gas", "floating piston depth", "air-side oil"}})
			if err != nil {
				t.Fatal(err)
			}
			n := screens(steps)
			for _, s := range steps {
				if s.SecondCheck {
					n++
				}
			}
			if t.Logf("%s, %s: %d screens", spring, damper, n); n > 40 {
				t.Errorf("%s, %s: %d screens, want at most 40: %v", spring, damper, n, keys(steps))
			}
		}
	}
}
