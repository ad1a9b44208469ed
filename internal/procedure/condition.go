package procedure

import (
	"fmt"
	"slices"
	"strings"
)

// answer is what the facts say to a condition.
type answer int

const (
	no answer = iota
	unknown
	yes
)

func (a answer) not() answer { return yes - a }

func (a answer) and(b answer) answer { return min(a, b) }

// is compares a fact that may not be known.
func is(fact, want string) answer {
	switch fact {
	case "":
		return unknown
	case want:
		return yes
	}
	return no
}

// conditions is every condition a step or a service may name. Each may also be
// turned round: "not shared oil". What is opened here nobody knows before it is
// done, so such a step may turn out not to apply.
var conditions = map[string]func(Facts) answer{
	"kind fork":            func(f Facts) answer { return is(f.Kind, "fork") },
	"kind rear shock":      func(f Facts) answer { return is(f.Kind, "rear shock") },
	"kind seatpost":        func(f Facts) answer { return is(f.Kind, "seatpost") },
	"air":                  func(f Facts) answer { return is(f.Spring, "air") },
	"coil":                 func(f Facts) answer { return is(f.Spring, "coil") },
	"shared oil":           func(f Facts) answer { return is(f.Damper, "shared oil") },
	"sealed":               func(f Facts) answer { return is(f.Damper, "sealed") },
	"cartridge":            func(f Facts) answer { return is(f.Damper, "cartridge") },
	"shared oil left":      func(f Facts) answer { return is(f.Damper, "shared oil").and(is(f.DamperLeg, "left")) },
	"shared oil right":     func(f Facts) answer { return is(f.Damper, "shared oil").and(is(f.DamperLeg, "right")) },
	"threaded axle":        func(f Facts) answer { return is(f.Axle, "threaded") },
	"lever axle":           func(f Facts) answer { return is(f.Axle, "lever") },
	"two crowns":           func(f Facts) answer { return is(f.Crowns, "two") },
	"whole bike":           func(f Facts) answer { return is(f.CameAs, "whole bike") },
	"may hold air":         Facts.mayHoldAir,
	"lost air":             Facts.lostAir,
	"leak test":            func(f Facts) answer { return f.stated("leak test pressure", no) },
	"air-side oil":         func(f Facts) answer { return f.stated("air-side oil", unknown) },
	"shaft fastener":       func(f Facts) answer { return f.stated("shaft fastener", no) },
	"axle pinch":           func(f Facts) answer { return f.stated("axle pinch", no) },
	"bleed screw":          func(f Facts) answer { return f.stated("bleed screw", no) },
	"oil height":           func(f Facts) answer { return f.stated("oil height", unknown) },
	"gas charge":           func(f Facts) answer { return f.stated("damper gas", unknown) },
	"floating piston":      func(f Facts) answer { return f.stated("floating piston depth", unknown) },
	"lowers stay on":       Facts.lowersStayOn,
	"disc brake":           func(f Facts) answer { return is(f.Brake, "disc") },
	"torqued can":          func(f Facts) answer { return f.stated("air can", unknown) },
	"opened here":          func(Facts) answer { return unknown },
	"small top cap":        func(f Facts) answer { return f.stated("top cap", no).and(f.stated("air top cap", no).not()) },
	"adjuster rebound":     func(f Facts) answer { return f.adjuster("rebound") },
	"adjuster compression": func(f Facts) answer { return f.adjuster("compression") },
	"adjuster lockout":     func(f Facts) answer { return f.adjuster("lockout") },
	"adjuster preload":     func(f Facts) answer { return f.adjuster("preload") },
}

func (f Facts) adjuster(name string) answer {
	switch {
	case slices.Contains(f.Adjusters, name):
		return yes
	case f.ModelKnown:
		return no
	}
	return unknown
}

// mayHoldAir is whether the air has to be let out. That a fork built with air is
// said to have a coil now is no reason to leave the step away: it is asked, and
// may be signed as one that does not apply.
func (f Facts) mayHoldAir() answer {
	held := is(f.Spring, "air")
	if held == no && f.Built == "air" {
		return unknown
	}
	return held
}

// lostAir is whether the rider complains that the air gets out of an air spring.
func (f Facts) lostAir() answer {
	if f.Spring == "coil" || f.Spring == "none" || !slices.Contains(f.Symptoms, LosesAir) {
		return no
	}
	return yes
}

// stated is yes for what the spec sheet has a value for, no where that is 0.
// What a sheet does not mention may still be in the manual, so the step says
// what silence means.
func (f Facts) stated(key string, silence answer) answer {
	switch {
	case slices.Contains(f.Stated, key):
		return yes
	case slices.Contains(f.StatedNone, key):
		return no
	}
	return silence
}

// lowersStayOn is whether a cartridge comes out with the lowers on: only where
// the spec sheet says so.
func (f Facts) lowersStayOn() answer {
	return is(f.Damper, "cartridge").and(f.stated("cartridge from the top", no))
}

// ask puts one condition to the facts.
func ask(condition string, f Facts) (answer, error) {
	name, turned := strings.CutPrefix(condition, "not ")
	rule, ok := conditions[name]
	if !ok {
		return no, fmt.Errorf("there is no condition %q", condition)
	}
	if turned {
		return rule(f).not(), nil
	}
	return rule(f), nil
}

// applies puts all conditions of a step to the facts: no when one of them is
// known to fail, unknown when one of them cannot be told.
func (s Step) applies(f Facts) (answer, error) {
	all := yes
	for _, c := range s.Conditions {
		a, err := ask(c, f)
		if err != nil {
			return no, fmt.Errorf("step %s: %w", s.Key, err)
		}
		all = all.and(a)
	}
	return all, nil
}
