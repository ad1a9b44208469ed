package templates

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"damperdesk/internal/procedure"
	"damperdesk/internal/spec"
)

// ProceduresPage lists what the work is made of.
type ProceduresPage struct {
	Base
	Blocks   []procedure.Revision // in force, at work and offered
	Services []procedure.Service
}

// current are the blocks in force, in the order of a sheet.
func (p ProceduresPage) current() []procedure.Revision {
	return slices.DeleteFunc(slices.Clone(p.Blocks), func(r procedure.Revision) bool { return r.State != procedure.StateCurrent })
}

func (p ProceduresPage) has(code, state string) bool {
	return slices.ContainsFunc(p.Blocks, func(r procedure.Revision) bool { return r.Code == code && r.State == state })
}

// BlockPage is a block in force and what may come after it.
type BlockPage struct {
	Base
	procedure.Standing
	Revisions []procedure.Revision
	Take      Base
}

// BlockRevisionPage is a revision, beside another where With is not empty.
type BlockRevisionPage struct {
	Base
	Shown, With procedure.Revision
	Revisions   []procedure.Revision
}

// sides are the two revisions, the older first.
func (p BlockRevisionPage) sides() (older, newer procedure.Revision) {
	if p.With.Revision < p.Shown.Revision {
		return p.With, p.Shown
	}
	return p.Shown, p.With
}

func (p BlockRevisionPage) others() []Option {
	var options []Option
	for _, r := range p.Revisions {
		if r.ID != p.Shown.ID {
			options = append(options, Option{Value: num(r.Revision), Label: revisionWords(p.Base, r), Chosen: r.ID == p.With.ID})
		}
	}
	return options
}

// BlockDraftPage is the shop's next revision of a block; each form has a Base of
// its own.
type BlockDraftPage struct {
	Base
	procedure.Standing
	Lines, Force, Drop Base
}

// stays is whether a step may not leave the block.
func (p BlockDraftPage) stays(key string) bool {
	shipped := p.Shipped.Step(key)
	return shipped != nil && shipped.Stays()
}

// BlockStepPage is a step of a draft, or a new one behind that of the key After.
type BlockStepPage struct {
	Base
	procedure.Standing
	Step    procedure.Step
	Shipped *procedure.Step // as the program brings it, nil for a step of the shop's own
	After   string
}

func (p BlockStepPage) isNew() bool { return p.Step.Key == "" }

// stays is whether people or other steps depend on the step as shipped.
func (p BlockStepPage) stays() bool { return p.Shipped != nil && p.Shipped.Stays() }

func (p BlockStepPage) afterOptions() []Option {
	var options []Option
	for i, s := range p.Draft.Steps {
		options = append(options, Option{Value: s.Key, Label: num(i+1) + ". " + s.Title, Chosen: s.Key == p.After})
	}
	return options
}

func (p BlockStepPage) kindOptions() []Option {
	var options []Option
	for _, k := range procedure.Kinds {
		options = append(options, Option{Value: string(k), Label: string(k), Chosen: k == p.Step.Kind})
	}
	return options
}

// blockPlaces are the places that a step of a block may point at: those of a leg
// that depends on the unit among them.
var blockPlaces = func() []string {
	list := []string{"steerer", "crown", "arch", "axle", "knob"}
	for _, part := range []string{"top", "stanchion", "wiper", "lower", "foot"} {
		for _, leg := range []string{"-left", "-right", "-spring", "-damper"} {
			list = append(list, part+leg)
		}
	}
	return list
}()

func (p BlockStepPage) placeOptions() []Option {
	var options []Option
	for _, place := range blockPlaces {
		options = append(options, Option{Value: place, Label: blockPlaceWords(place), Chosen: slices.Contains(strings.Fields(p.Step.Place), place)})
	}
	return options
}

func blockPlaceWords(place string) string {
	part, leg, sided := strings.Cut(place, "-")
	switch {
	case !sided:
		return part
	case leg == "left" || leg == "right":
		return part + ", rider’s " + leg
	}
	return part + ", " + leg + " leg"
}

func (p BlockStepPage) scaleOptions() []Option {
	options := []Option{{Label: "none", Chosen: len(p.Step.Grades) == 0}}
	for i, scale := range procedure.Scales {
		options = append(options, Option{Value: strconv.Itoa(i), Label: strings.Join(scale, "; "), Chosen: slices.Equal(scale, p.Step.Grades)})
	}
	return options
}

func (p BlockStepPage) specGroups() []keyGroup {
	var groups []keyGroup
	for _, name := range spec.Groups {
		g := keyGroup{Name: name}
		for _, k := range spec.Keys {
			if k.Group == name {
				g.Keys = append(g.Keys, k)
			}
		}
		groups = append(groups, g)
	}
	return groups
}

// conditionFields is how many conditions the form asks for: those there are, and
// two more.
func (p BlockStepPage) conditionFields() []string {
	chosen := p.Step.Conditions
	if p.Typed != nil {
		chosen = slices.DeleteFunc(slices.Clone(p.Typed["condition"]), func(c string) bool { return c == "" })
	}
	return append(slices.Clone(chosen), "", "")
}

func conditionOptions(chosen string) []Option {
	options := []Option{{Label: "always", Chosen: chosen == ""}}
	for _, c := range procedure.Conditions() {
		for _, name := range []string{c, "not " + c} {
			options = append(options, Option{Value: name, Label: conditionWords(name), Chosen: name == chosen})
		}
	}
	return options
}

// oddConditions are said otherwise than they are called.
var oddConditions = map[string]string{
	"kind fork": "a fork", "kind rear shock": "a rear shock", "kind seatpost": "a seatpost", "air": "an air spring", "coil": "a coil spring",
	"shared oil": "a damper of shared oil", "sealed": "a sealed damper", "cartridge": "a cartridge damper", "lost air": "it came for losing air", "may hold air": "it may hold air",
	"leak test": "the sheet asks for a leak test", "small top cap": "the sheet has a small top cap", "opened here": "it was opened here",
	"whole bike": "the whole bike came", "air-side oil": "the sheet has oil for the air side", "oil height": "the sheet has an oil height",
	"gas charge": "the sheet has a charge of gas", "floating piston": "the sheet has a floating piston", "shaft fastener": "the sheet has a shaft fastener",
	"bleed screw": "the sheet has a bleed screw", "axle pinch": "the sheet has pinch bolts at the axle", "torqued can": "the sheet has a torque for the can", "lowers stay on": "the sheet lets the lowers stay on",
}

func conditionWords(condition string) string {
	name, turned := strings.CutPrefix(condition, "not ")
	words := name
	if odd, ok := oddConditions[name]; ok {
		words = odd
	}
	if turned {
		return "unless: " + words
	}
	return "if: " + words
}

// conditionsWords is when a step is asked, empty for always. That it is of forks
// goes without saying.
func conditionsWords(conditions []string) string {
	var words []string
	for _, c := range conditions {
		if c == "kind fork" {
			continue
		}
		words = append(words, conditionWords(c))
	}
	return strings.Join(words, "; ")
}

// PreviewPage is the sheet that services would make with a draft in force.
type PreviewPage struct {
	Base
	procedure.Standing
	Services []procedure.Service
	Models   []spec.Model
	Chosen   []string
	ModelID  int64
	CameAs   string
	Steps    []procedure.Step
	Refused  string
}

// Wanted are the services chosen.
func (p PreviewPage) Wanted() []procedure.Service {
	return slices.DeleteFunc(slices.Clone(p.Services), func(s procedure.Service) bool { return !slices.Contains(p.Chosen, s.Code) })
}

func (p PreviewPage) modelOptions() []Option {
	options := []Option{{Value: "0", Label: "a fork of no known model", Chosen: p.ModelID == 0}}
	for _, m := range p.Models {
		options = append(options, Option{Value: strconv.FormatInt(m.ID, 10), Label: m.Title(), Chosen: m.ID == p.ModelID})
	}
	return options
}

func (p PreviewPage) serviceOptions() []Option {
	var options []Option
	for _, s := range p.Services {
		options = append(options, Option{Value: s.Code, Label: s.Name, Chosen: slices.Contains(p.Chosen, s.Code)})
	}
	return options
}

func (p PreviewPage) cameOptions() []Option {
	return namedOptions([]string{"unit only", "unit and wheel", "whole bike"}, func(v string) string { return v }, p.CameAs)
}

func blockPath(code string) string      { return "/procedures/" + code }
func blockDraftPath(code string) string { return blockPath(code) + "/draft" }
func blockRevisionPath(r procedure.Revision) string {
	return blockPath(r.Code) + "/revisions/" + num(r.Revision)
}
func blockStepPath(code, field, key string) string {
	return blockDraftPath(code) + "/step?" + field + "=" + key
}

// revisionWords says which revision it is, whose and since when.
func revisionWords(b Base, r procedure.Revision) string {
	whose := "the shop’s own"
	if r.Shipped > 0 {
		whose = "as shipped"
	}
	words := fmt.Sprintf("revision %d, %s, %s", r.Revision, whose, stateWords[r.State])
	if r.PutAt != nil && r.PutBy != "" {
		words += ", " + r.PutBy + " " + b.When(*r.PutAt)
	}
	return words
}

var stateWords = map[string]string{
	procedure.StateDraft: "a draft", procedure.StateCurrent: "in force", procedure.StatePast: "not in force any more",
	procedure.StateOffered: "offered",
}

// together tells with which lines of its block a step shares a press: the number
// of the first of its run, 0 for a step alone.
func togetherFrom(steps []procedure.Step, i int) int {
	first, last := i, i
	for first > 0 && steps[i].Group != "" && steps[first-1].Group == steps[i].Group {
		first--
	}
	for last+1 < len(steps) && steps[i].Group != "" && steps[last+1].Group == steps[i].Group {
		last++
	}
	if first == last {
		return 0
	}
	return first + 1
}
