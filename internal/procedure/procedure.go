// Package procedure holds the services a shop offers, the blocks of steps they
// are made of, and the rule that merges the blocks of several services into
// the one bench sheet of a job.
package procedure

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"damperdesk/internal/spec"
)

// Service is what a customer can want.
type Service struct {
	Code string
	Name string
	// Kinds names the kinds of unit it is for, such as "fork"; empty is any.
	Kinds []string
	// Blocks names what the service brings: a whole block ("W"), a step or a
	// range of steps ("S1-5", "D1.1-8"), or either of them unless a condition
	// is known to fail ("D2 if cartridge") or only where it is known to hold
	// ("D1 only if shared oil"). Their order here means nothing.
	Blocks []string
	// Covers names the services that count as done with this one.
	Covers []string
	// OutOfUse is not offered any more; jobs that have it keep it.
	OutOfUse bool
	Version  int // 1 while it is as shipped
}

// For reports whether the service is for units of that kind; a kind that is
// not known is none it is refused for.
func (s Service) For(kind string) bool {
	return kind == "" || len(s.Kinds) == 0 || slices.Contains(s.Kinds, kind)
}

// springOf names the spring that a service is about.
var springOf = map[string]string{"air-spring": "air", "coil-spring": "coil", "air-can": "air"}

// Spring is the spring that the service is about, empty for any.
func (s Service) Spring() string { return springOf[s.Code] }

// Suits reports whether the service is about a spring that the unit may have;
// the spring may not be known.
func (s Service) Suits(spring string) bool {
	of := s.Spring()
	return of == "" || spring == "" || spring == of
}

// Refusal says why the service is not for a unit of that kind and spring, and
// which of all fits; empty where it may be. What is not known refuses nothing.
func (s Service) Refusal(all []Service, kind, spring string) string {
	if !s.For(kind) {
		return fmt.Sprintf("“%s” is not for a %s: choose another service.", s.Name, kind)
	}
	if s.Suits(spring) {
		return ""
	}
	fork := cmp.Or(kind, "unit")
	for _, fits := range all {
		if fits.Spring() == spring && fits.For(kind) && !fits.OutOfUse {
			return fmt.Sprintf("“%s” is not for a %s with %s spring: “%s” fits it.", s.Name, fork, withArticle[spring], fits.Name)
		}
	}
	return fmt.Sprintf("“%s” is not for a %s with %s spring: choose another service.", s.Name, fork, withArticle[spring])
}

var withArticle = map[string]string{"air": "an air", "coil": "a coil", "none": "no"}

// ByCode finds a service of the list.
func ByCode(all []Service, code string) (s Service, ok bool) {
	i := slices.IndexFunc(all, func(s Service) bool { return s.Code == code })
	if i < 0 {
		return Service{}, false
	}
	return all[i], true
}

// Offered leaves out of a list what is out of use.
func Offered(all []Service) []Service {
	return slices.DeleteFunc(slices.Clone(all), func(s Service) bool { return s.OutOfUse })
}

// Done picks the services that count as done with those of the codes: they
// themselves and what they cover, in the order of all.
func Done(all []Service, codes []string) []Service {
	done := map[string]bool{}
	for _, s := range all {
		if slices.Contains(codes, s.Code) {
			done[s.Code] = true
			for _, covered := range s.Covers {
				done[covered] = true
			}
		}
	}
	return slices.DeleteFunc(slices.Clone(all), func(s Service) bool { return !done[s.Code] })
}

// Block is a run of steps that belong together, in the order of its steps.
type Block struct {
	Code     string
	Title    string
	Revision int
	Steps    []Step
}

// Kind is what a step asks of the person who signs it.
type Kind string

// The kinds of steps.
const (
	Check   Kind = "check"
	Torque  Kind = "torque"
	Volume  Kind = "volume"
	Reading Kind = "reading"
	Count   Kind = "count"
	Wait    Kind = "wait"
	Fit     Kind = "fit"
	Picture Kind = "picture"
)

// Step is one line of a bench sheet. The text is how it is done and when it is
// right; the caution stands on this step alone.
type Step struct {
	ID         int64 // 0 before it is stored
	Block      string
	BlockTitle string
	// Key is the block's code and the step's number, then a dot and a word
	// where one number has several lines: "S5", "A5.rebound", "D1.9".
	Key     string
	Kind    Kind
	Title   string
	Text    string
	Caution string
	// Place lists places of the drawing, apart by spaces. In a block they may
	// end in -spring or -damper for a leg that depends on the unit; after Merge
	// they end in -left and -right only.
	Place   string
	SpecKey string
	// Grades are the answers to choose from, best first or least first.
	Grades []string
	// Group marks lines that may be signed with one press. After Merge it is
	// the key of the first line of an unbroken run, empty for a line alone.
	Group        string `db:"grp"`
	StopHere     bool
	SecondCheck  bool
	MayBeUnknown bool
	// Tools and Parts say in words what is at hand for it, and what it fits.
	Tools string `json:",omitzero"`
	Parts string `json:",omitzero"`
	// Minutes is how long a wait stands at least; 0 where its text says when it
	// is over.
	Minutes int `json:",omitzero"`
	// Fasteners is how many one sign-off of a torque tightens; 0 is one.
	Fasteners int `json:",omitzero"`
	// Conditions all have to be possible for the step to be asked.
	Conditions []string
	// Unsure marks a step that Merge asked only because a fact is not known, so
	// that at the bench it may turn out not to apply.
	Unsure bool `db:"-"`
}

// Number is the step's number within its block, 0 for a key that has none.
func (s Step) Number() int {
	rest := strings.TrimPrefix(strings.TrimPrefix(s.Key, s.Block), ".")
	end := strings.IndexFunc(rest, func(r rune) bool { return r < '0' || r > '9' })
	if end >= 0 {
		rest = rest[:end]
	}
	n, err := strconv.Atoi(rest)
	if err != nil {
		return 0
	}
	return n
}

// Facts are what is known of the unit on the bench. An empty field is not
// known, and whatever depends on it is asked rather than left out.
type Facts struct {
	Named     string // what the library says it is, in words
	Laid      string // what it says of the legs and the lowers, in words
	Kind      string // "fork", "rear shock", "seatpost"
	Spring    string // "air", "coil", "none"
	Built     string // the same as its maker built it, where somebody said it is another now
	Damper    string // "shared oil", "sealed", "cartridge", "none"
	SpringLeg string // "left", "right"
	DamperLeg string // "left", "right"
	Crowns    string // "one", "two"
	Adjusters []string
	Positions []string // names of the lockout's, from closed
	CameAs    string   // "unit only", "unit and wheel", "whole bike"
	Axle      string   // "threaded", "lever"
	Brake     string   // "disc"; a brake that is another is not known as such
	// ModelKnown says that Adjusters is the whole list, even when empty.
	ModelKnown bool
	Symptoms   []string // codes of the trade list that the rider names
	Stated     []string // spec keys the unit's sheet has a value above zero for
	StatedNone []string // spec keys it states as zero
}

// LosesAir is the code of the symptom that asks for a night of standing.
const LosesAir = "loses-air"

// statedAt is where a value has to be for its key to count as stated.
var statedAt = []struct{ key, place string }{
	{"leak test pressure", ""}, {"air-side oil", "top-spring"}, {"air top cap", "top-spring"}, {"top cap", "top-spring"},
	{"shaft fastener", "stanchion-damper"}, {"bleed screw", "top-damper"}, {"oil height", "top-damper"},
	{"damper gas", ""}, {"floating piston depth", "top-damper"}, {"cartridge from the top", ""}, {"air can", ""},
	{"axle pinch", "axle"},
}

// With adds what the unit's spec sheet tells. One with a torque for the axle is
// of a fork whose axle is turned in, not closed by a lever; one with a torque
// for the caliper is of a fork with a disc brake.
func (f Facts) With(sheet spec.Sheet) Facts {
	if _, ok := sheet.Value("axle", "axle"); ok {
		f.Axle = "threaded"
	}
	if _, ok := sheet.Value("brake caliper", "lower-left"); ok {
		f.Brake = "disc"
	}
	for _, at := range statedAt {
		switch v, ok := sheet.Value(at.key, settle(at.place, f)); {
		case ok && v.NominalSI > 0:
			f.Stated = append(f.Stated, at.key)
		case ok:
			f.StatedNone = append(f.StatedNone, at.key)
		}
	}
	return f
}

// FactsOf is what a model of the library tells about a unit.
func FactsOf(m spec.Model, cameAs string) Facts {
	return Facts{
		Named: named(m), Laid: laid(m),
		Kind: m.Kind, Spring: m.Spring, Damper: m.Damper,
		SpringLeg: m.SpringLeg, DamperLeg: m.DamperLeg, Crowns: m.Crowns,
		Adjusters: slices.Clone(m.Adjusters), Positions: slices.Clone(m.Positions), CameAs: cameAs, ModelKnown: true,
	}
}

func laid(m spec.Model) string {
	var words []string
	for _, part := range []struct{ what, leg string }{{"spring", m.SpringLeg}, {"damper", m.DamperLeg}} {
		if part.leg != "" {
			words = append(words, part.what+" on the rider’s "+part.leg)
		}
	}
	switch m.Lowers {
	case "arch front":
		words = append(words, "arch in front")
	case "arch back":
		words = append(words, "arch behind")
	}
	return strings.Join(words, ", ")
}

func named(m spec.Model) string {
	words := []string{m.Title()}
	if m.TravelMM != nil {
		words = append(words, strconv.Itoa(*m.TravelMM)+"\u00a0mm of travel")
	}
	for _, part := range []struct{ fitted, what string }{{m.Spring, " spring"}, {m.Damper, " damper"}} {
		if part.fitted != "" {
			words = append(words, strings.Replace(part.fitted, "none", "no", 1)+part.what)
		}
	}
	return strings.Join(words, ", ")
}
