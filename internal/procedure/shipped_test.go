package procedure

import (
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/spec"
)

// shippedSteps merges the shipped lower-leg service.
func shippedSteps(t *testing.T, f Facts) []Step {
	t.Helper()
	return shippedService(t, "lower-leg", f)
}

func shippedService(t *testing.T, code string, f Facts) []Step {
	t.Helper()
	blocks, services := Shipped()
	byCode := map[string]Block{}
	for _, b := range blocks {
		byCode[b.Code] = b
	}
	steps, err := Merge(slices.DeleteFunc(services, func(s Service) bool { return s.Code != code }), byCode, f)
	if err != nil {
		t.Fatal(err)
	}
	return steps
}

var airFork = Facts{Kind: "fork", Spring: "air", Damper: "cartridge", SpringLeg: "left", DamperLeg: "right", Crowns: "one",
	Adjusters: []string{"rebound", "compression"}, CameAs: "unit only", ModelKnown: true}

// Kinds and stops of every step of a lower-leg service: common practice (no
// source).
func TestLowerLegServiceOfAnAirFork(t *testing.T) {
	want := strings.Fields(`
		A1:check A2:picture A3:check A4:reading A5.rebound:count A5.compression:count
		A6:check A7:check A8:check A9:check A10:check A11:check
		S4:check S5:check:stop S6:check S7:check S8:check S9.left:reading S9.right:reading S10:picture
		W1:check W2:check W3:check W4:fit W5:fit W6:check
		Z1:check:stop Z2:check Z3:volume Z4:volume Z5:check Z6:fit Z7:torque Z8:torque Z9:count
		V1:reading V2:reading V3.rebound:count V3.compression:count V4:wait
		V5:check V6:check V7:check V8:check V9:reading`)
	var got []string
	for _, s := range shippedSteps(t, airFork) {
		line := s.Key + ":" + string(s.Kind)
		if s.StopHere {
			line += ":stop"
		}
		got = append(got, line)
	}
	if !slices.Equal(got, want) {
		t.Errorf("lower-leg service:\n got %v\nwant %v", got, want)
	}
}

// The shared oil goes in once the feet are torqued: common practice (no source).
func TestSharedOilGoesInAfterTheFeet(t *testing.T) {
	f := airFork
	f.Damper = "shared oil"
	list := keys(shippedSteps(t, f))
	var last int
	for _, key := range []string{"S5", "S8", "D1.1", "D1.2", "W1", "Z3", "Z8", "D1.9", "D1.12", "V1"} {
		at := slices.Index(list, key)
		if at < last || at < 0 {
			t.Errorf("%s is out of its place in %v", key, list)
		}
		last = at
	}
}

// Signing screens of a normal run, at most: common practice (no source). Left
// and right of one volume or torque share a screen.
func TestServicesFitTheirScreens(t *testing.T) {
	for service, most := range map[string]int{"lower-leg": 20, "air-spring": 27} {
		if n := screens(shippedService(t, service, airFork)); n > most {
			t.Errorf("%s: %d screens, want at most %d", service, n, most)
		}
	}
}

func screens(steps []Step) int {
	n := 0
	var last Step
	for _, s := range steps {
		sameGroup := s.Group != "" && s.Group == last.Group
		otherLeg := (s.Kind == Torque || s.Kind == Volume) && s.Kind == last.Kind && s.SpecKey == last.SpecKey
		if !sameGroup && !otherLeg {
			n++
		}
		last = s
	}
	return n
}

func TestShippedServicesOfOtherUnits(t *testing.T) {
	has := func(f Facts, key string) bool { return slices.Contains(keys(shippedSteps(t, f)), key) }
	with := func(change func(*Facts)) Facts { f := airFork; change(&f); return f }
	coil := with(func(f *Facts) { f.Spring = "coil" })
	turned := with(func(f *Facts) { f.Spring, f.Adjusters = "coil", []string{"rebound", "preload"} })
	coilBike := with(func(f *Facts) { f.Spring, f.CameAs = "coil", "whole bike" })
	bike := with(func(f *Facts) { f.CameAs = "whole bike" })
	plain := with(func(f *Facts) { f.Adjusters = nil })
	shared := with(func(f *Facts) { f.Damper = "shared oil" })
	threaded := with(func(f *Facts) { f.CameAs, f.Axle = "whole bike", "threaded" })
	lever := with(func(f *Facts) { f.CameAs, f.Axle = "whole bike", "lever" })
	pinched := with(func(f *Facts) { f.CameAs, f.Stated = "whole bike", []string{"axle pinch"} })
	unknown := Facts{Kind: "fork", CameAs: "unit only"}
	for _, c := range []struct {
		name  string
		facts Facts
		key   string
		want  bool
	}{
		{"coil", coil, "A4", false}, {"coil", coil, "S5", false}, {"coil", coil, "S5.coil", true}, {"coil", coil, "V2", false},
		{"coil", coil, "V1", false}, {"coil", coil, "V1.coil", true}, {"air", airFork, "V1", true}, {"air", airFork, "V1.coil", false},
		{"coil, no preload adjuster", coil, "A5.preload", false}, {"coil, no preload adjuster", coil, "V3.preload", false},
		{"coil, no preload adjuster", coil, "V2.coil", true},
		{"coil with its adjuster", turned, "A5.preload", true}, {"coil with its adjuster", turned, "S5.coil", true},
		{"coil with its adjuster", turned, "V3.preload", true}, {"coil with its adjuster", turned, "V2.coil", false},
		{"coil on its bike", coilBike, "R3", false}, {"coil on its bike", coilBike, "R3.coil", true}, {"whole bike", bike, "R3.coil", false},
		{"whole bike", bike, "S1", true}, {"fork alone", airFork, "S1", false},
		{"axle not known", bike, "R7", true}, {"axle not known", bike, "R7.lever", true},
		{"threaded axle", threaded, "R7", true}, {"threaded axle", threaded, "R7.lever", false},
		{"lever axle", lever, "R7", false}, {"lever axle", lever, "R7.lever", true},
		{"pinch bolts stated", pinched, "R7.pinch", true}, {"no pinch bolts stated", bike, "R7.pinch", false},
		{"no adjusters", plain, "S6", false}, {"no adjusters", plain, "Z9", false},
		{"shared oil, spring leg", shared, "Z3", true}, {"shared oil, damper leg", shared, "Z4", false},
		{"shared oil", shared, "D1.9", true}, {"shared oil", shared, "D1.9.sealed", false}, {"shared oil", shared, "D1.12", true},
		{"shared oil", shared, "D1.6", false}, {"cartridge", airFork, "D1.9", false}, {"unknown", unknown, "D1.9", false},
		{"unknown", unknown, "S5", true}, {"unknown", unknown, "S5.coil", true}, {"unknown", unknown, "A5.lockout", true},
		{"unknown", unknown, "A5.preload", true}, {"unknown", unknown, "V3.preload", true}, {"air", airFork, "A5.preload", false},
		{"unknown", unknown, "Z3", true}, {"unknown", unknown, "Z4", true},
	} {
		if got := has(c.facts, c.key); got != c.want {
			t.Errorf("%s: step %s on the sheet is %v, want %v", c.name, c.key, got, c.want)
		}
	}
	blocks, services := Shipped()
	byCode := map[string]Block{}
	for _, b := range blocks {
		byCode[b.Code] = b
	}
	if steps, err := Merge(services[:1], byCode, Facts{Kind: "rear shock"}); err == nil {
		t.Errorf("a lower-leg service of a rear shock has steps %v", keys(steps))
	}
}

// Which lines stand for which kind of unit: common practice (no source). A star
// is a line asked only because a fact is not known.
func TestOtherWorkOfEveryKindOfUnit(t *testing.T) {
	airShock := Facts{Kind: "rear shock", Spring: "air", Damper: "sealed", Adjusters: []string{"rebound"}, CameAs: "unit only", ModelKnown: true}
	for _, c := range []struct {
		name  string
		facts Facts
		want  string
	}{
		{"fork", airFork, "A1 A2 A3 A4 A5.rebound A5.compression F1 V2 V3.rebound V3.compression V4 V5 V6 V7 V8 V9"},
		{"rear shock of a model", airShock, "A1 A2 A3 A4 A5.rebound F1.shock V2 V3.rebound V4.shock V6 V8 V9"},
		{"rear shock in words", Facts{Kind: "rear shock", CameAs: "whole bike"},
			"A1 A2 A3 A4* A5.rebound* A5.compression* A5.lockout* F1.shock V2* V3.rebound* V3.compression* V3.lockout* V4.shock* V6 V8 V9"},
		{"seatpost", Facts{Kind: "seatpost", CameAs: "unit only"}, "A1 A2 A3 F1 V6 V8 V9"},
	} {
		var got []string
		for _, s := range shippedService(t, "other", c.facts) {
			if s.Unsure {
				s.Key += "*"
			}
			got = append(got, s.Key)
		}
		if want := strings.Fields(c.want); !slices.Equal(got, want) {
			t.Errorf("%s:\n got %v\nwant %v", c.name, got, want)
		}
	}
	for _, s := range otherWork.Steps {
		if shock := strings.HasSuffix(s.Key, ".shock"); !strings.Contains(s.Caution, "maker’s manual") ||
			shock && !(strings.Contains(s.Caution, "pressurised") && strings.Contains(s.Caution, "specialist")) {
			t.Errorf("%s: the caution is %q", s.Key, s.Caution)
		}
	}
}

// The lines of an air-can service, groups in brackets by their first line: common
// practice (no source). A star is a line asked only because a fact is not known.
func TestTheAirCanOfARearShock(t *testing.T) {
	known := Facts{Kind: "rear shock", Spring: "air", Damper: "sealed", Adjusters: []string{"rebound"}, CameAs: "unit only", ModelKnown: true,
		Stated: []string{"air can", "air-side oil"}}
	with := func(change func(*Facts)) Facts { f := known; change(&f); return f }
	const look = "A1(A1) A2(A1) A3(A1) A4(A4) A5.rebound(A4) "
	for _, c := range []struct {
		name  string
		facts Facts
		want  string
	}{
		{"shock alone", known, look + "K1! K3(K3) K4(K3) K5! K6(K6) K7(K6) K8(K6) K9(K6) K10(K10) K11(K10) K12 K13 K14 V2(V2) V3.rebound(V2) V4.shock V6(V6) V8(V6) V9"},
		{"in its bike", with(func(f *Facts) { f.CameAs = "whole bike" }), look + "K1! K2(K2) K3(K2) K4(K2) K5! K6(K6) K7(K6) K8(K6) K9(K6) K10(K10) K11(K10) " +
			"K12 K13 K14 K15 K16 V2(V2) V3.rebound(V2) K17+ V4.shock V6(V6) V8(V6) V9"},
		{"no torque for the can, loses air", with(func(f *Facts) {
			f.Stated, f.StatedNone, f.Symptoms = nil, []string{"air can", "air-side oil"}, []string{LosesAir}
		}),
			look + "K1! K3(K3) K4(K3) K5! K6(K6) K7(K6) K8(K6) K9(K6) K10(K10) K11(K10) K13 K14.hand V2(V2) V3.rebound(V2) V4.overnight V6(V6) V8(V6) V9"},
		{"no spec sheet", with(func(f *Facts) { f.Stated = nil }), look +
			"K1! K3(K3) K4(K3) K5! K6(K6) K7(K6) K8(K6) K9(K6) K10(K10) K11(K10) K12* K13 K14* K14.hand* V2(V2) V3.rebound(V2) V4.shock V6(V6) V8(V6) V9"},
	} {
		var got []string
		for _, s := range shippedService(t, "air-can", c.facts) {
			line := s.Key
			for mark, is := range map[string]bool{"*": s.Unsure, "!": s.StopHere, "+": s.SecondCheck, "(" + s.Group + ")": s.Group != ""} {
				if is {
					line += mark
				}
			}
			got = append(got, line)
		}
		if want := strings.Fields(c.want); !slices.Equal(got, want) {
			t.Errorf("%s:\n got %v\nwant %v", c.name, got, want)
		}
	}
	for _, key := range []string{"K5", "K9"} {
		i := slices.IndexFunc(airCan.Steps, func(s Step) bool { return s.Key == key })
		if c := airCan.Steps[i].Caution; !strings.Contains(c, "not opened here") {
			t.Errorf("%s: the caution is %q", key, c)
		}
	}
	_, services := Shipped()
	air, _ := ByCode(services, "air-can")
	for _, c := range []struct{ kind, spring, want string }{
		{"fork", "air", "“Air-can service” is not for a fork: choose another service."},
		{"rear shock", "coil", "“Air-can service” is not for a rear shock with a coil spring: choose another service."},
		{"rear shock", "air", ""}, {"rear shock", "", ""},
	} {
		if got := air.Refusal(services, c.kind, c.spring); got != c.want {
			t.Errorf("%s, %s: %q, want %q", c.kind, c.spring, got, c.want)
		}
	}
}

func TestShippedStepsAreWhole(t *testing.T) {
	blocks, _ := Shipped()
	for _, b := range blocks {
		seen := map[string]bool{}
		for _, s := range b.Steps {
			if seen[s.Key] {
				t.Errorf("%s stands twice in its block", s.Key)
			}
			seen[s.Key] = true
			stepIsWhole(t, s)
		}
	}
}

func stepIsWhole(t *testing.T, s Step) {
	t.Helper()
	refuse := func(wrong bool, what string) {
		if wrong {
			t.Errorf("%s: %s", s.Key, what)
		}
	}
	refuse(s.Number() == 0 || !strings.HasPrefix(s.Key, s.Block), "the key is not block and number")
	refuse(s.Title == "" || len([]rune(s.Title)) > 50 || strings.HasSuffix(s.Title, "."), "the title is no short line")
	refuse(!strings.HasSuffix(s.Text, "."), "the text is no sentence")
	refuse(s.Caution != "" && !strings.HasSuffix(s.Caution, "."), "the caution is no sentence")
	refuse(!spec.ValidPlace(settle(s.Place, airFork)), "the place is not on the drawing")
	_, known := spec.Find(s.SpecKey)
	refuse(s.SpecKey != "" && !known, "no spec key "+s.SpecKey)
	refuse((s.Kind == Torque || s.Kind == Volume) && s.SpecKey == "", "a torque or volume needs its spec key")
	refuse(s.Group != "" && (s.Kind == Torque || s.Kind == Volume || s.StopHere || s.SecondCheck), "may not be signed together")
	for _, c := range s.Conditions {
		_, err := ask(c, airFork)
		refuse(err != nil, "unknown condition "+c)
	}
}

// Kinds, stops and second checks of a refit, its first lines before the air
// goes in: common practice (no source).
func TestRefitOfAWholeBike(t *testing.T) {
	want := strings.Fields(`V1 R1:check R2:check R3:check V2 V3.rebound V3.compression R4:check R5:torque:stem R6:torque:brake-caliper
		R7:torque:axle R8:check:stop R9.stem:check:second R9.axle:check:second R9.brake:check:second R10:check
		V4 V5 V6 V7 V8 V9`)
	f := airFork
	f.CameAs, f.Axle = "whole bike", "threaded"
	var got []string
	for _, s := range shippedSteps(t, f) {
		line := s.Key
		if s.Block == "R" {
			line += ":" + string(s.Kind)
			if s.SpecKey != "" {
				line += ":" + strings.ReplaceAll(s.SpecKey, " ", "-")
			}
			if s.StopHere {
				line += ":stop"
			}
			if s.SecondCheck {
				line += ":second"
			}
		}
		if s.Block == "R" || s.Block == "V" {
			got = append(got, line)
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("prove and refit:\n got %v\nwant %v", got, want)
	}
}

// What two crowns add to the strip and the refit of a whole bike: common
// practice (no source).
func TestTwoCrowns(t *testing.T) {
	added := []string{"S3.crowns", "R2.crowns", "R5.crowns", "R9.crowns"}
	for _, c := range []struct {
		crowns, cameAs string
		want           []string
	}{{"two", "whole bike", added}, {"", "whole bike", added}, {"one", "whole bike", nil}, {"two", "unit only", nil}} {
		f := airFork
		f.Crowns, f.CameAs = c.crowns, c.cameAs
		got := slices.DeleteFunc(keys(shippedSteps(t, f)), func(key string) bool { return !strings.HasSuffix(key, ".crowns") })
		if !slices.Equal(got, c.want) {
			t.Errorf("crowns %q, %s: %v, want %v", c.crowns, c.cameAs, got, c.want)
		}
	}
}

// A service that takes the fork out of the bike puts it back in: common
// practice (no source).
func TestWhatComesOutOfTheBikeGoesBackIn(t *testing.T) {
	blocks, services := Shipped()
	byCode := map[string]Block{}
	for _, b := range blocks {
		byCode[b.Code] = b
	}
	for _, cameAs := range []string{"whole bike", "unit and wheel", "unit only"} {
		f := airFork
		f.CameAs = cameAs
		for _, s := range services {
			if !slices.Contains(s.Blocks, "S") || s.Code == "strip" { // which ends in parts, or with another service
				continue
			}
			steps, err := Merge([]Service{s}, byCode, f)
			if err != nil {
				t.Fatal(err)
			}
			out := slices.Contains(keys(steps), "S3")
			if out != (cameAs == "whole bike") {
				t.Errorf("%s, %s: the fork is taken out: %v", s.Code, cameAs, out)
			}
			for _, key := range []string{"R1", "R5", "R8", "R9.stem", "R9.axle", "R9.brake", "R10"} {
				if back := slices.Contains(keys(steps), key); back != out {
					t.Errorf("%s, %s: %s on the sheet is %v, the fork is taken out %v", s.Code, cameAs, key, back, out)
				}
			}
		}
	}
}

// At most six lines are signed together: common practice (no source).
func TestShippedGroupsAreSmall(t *testing.T) {
	lines := map[string]int{}
	for _, s := range shippedService(t, "full", Facts{}) {
		if s.Group != "" {
			lines[s.Group]++
		}
	}
	for group, n := range lines {
		if n > 6 || n < 2 {
			t.Errorf("group %s has %d lines, want 2 to 6", group, n)
		}
	}
	if len(lines) == 0 {
		t.Error("no groups at all")
	}
}
