package templates

import (
	"fmt"
	"slices"

	"damperdesk/internal/procedure"
	"damperdesk/internal/spec"
)

// ServicePage makes or changes a service.
type ServicePage struct {
	Base
	Service procedure.Service // empty code: a new one
	All     []procedure.Service
	Blocks  []procedure.Revision
}

func servicePath(code string) string { return "/procedures/services/" + code }

func (p ServicePage) action() string {
	if p.Service.Code == "" {
		return "/procedures/services"
	}
	return servicePath(p.Service.Code)
}

// rows are the parts the form asks for: those there are, and three more.
func (p ServicePage) rows() []string {
	n := len(p.Service.Blocks)
	for p.Typed.Has("part." + num(n)) {
		n++
	}
	list := make([]string, max(n, len(p.Service.Blocks)+3))
	copy(list, p.Service.Blocks)
	return list
}

func (p ServicePage) kindOptions() []Option {
	var options []Option
	for _, kind := range spec.ModelKinds {
		options = append(options, Option{Value: kind, Label: kind, Chosen: slices.Contains(p.Service.Kinds, kind)})
	}
	return options
}

func (p ServicePage) coverOptions() []Option {
	var options []Option
	for _, s := range p.All {
		if s.Code != p.Service.Code {
			options = append(options, Option{Value: s.Code, Label: s.Name, Chosen: slices.Contains(p.Service.Covers, s.Code)})
		}
	}
	return options
}

func (p ServicePage) partOptions(entry string) []Option {
	chosen, _ := procedure.PartOf(entry)
	options := []Option{{Label: "nothing", Chosen: chosen == ""}}
	for _, part := range procedure.Parts(p.All) {
		options = append(options, Option{Value: part.Entry, Label: p.partWords(part), Chosen: part.Entry == chosen})
	}
	return options
}

func (p ServicePage) partWords(part procedure.Part) string {
	words := part.Block
	for _, r := range p.Blocks {
		if r.Code == part.Block && r.State == procedure.StateCurrent {
			words = r.Title
		}
	}
	switch {
	case part.Entry == part.Block:
		return words
	case part.From == part.To:
		return fmt.Sprintf("%s, step %d", words, part.From)
	}
	return fmt.Sprintf("%s, steps %d to %d", words, part.From, part.To)
}

// whenOptions say when a part is done: unless the condition is known to fail, or
// only where it is known to hold.
func whenOptions(entry string) []Option {
	_, chosen := procedure.PartOf(entry)
	options := []Option{{Label: "always", Chosen: chosen == ""}}
	for _, c := range procedure.Conditions() {
		for _, name := range []string{c, "not " + c} {
			if c == "opened here" {
				continue
			}
			words := conditionWords(name)
			options = append(options,
				Option{Value: "if " + name, Label: words, Chosen: chosen == "if "+name},
				Option{Value: "only if " + name, Label: words + ", and that is known", Chosen: chosen == "only if "+name})
		}
	}
	return options
}
