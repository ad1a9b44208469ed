package templates

import (
	"strconv"

	"damperdesk/internal/customer"
	"damperdesk/internal/reconcile"
	"damperdesk/internal/spec"
)

// UnitFormPage corrects what is known of a unit.
type UnitFormPage struct {
	Base
	Unit   customer.Unit
	Beside []customer.Unit // off the same bike
	Models []spec.Model

	Clashes []reconcile.Clash
}

// unitTerm names a field of the form.
func unitTerm(field string) string {
	return map[string]string{"model": "Model", "serial": "Serial", "tag": "Own tag number", "bike": "Off which bike", "colour": "Its colour", "frame": "Frame number"}[field]
}

// unitText is what a field says, a model by its name.
func (p UnitFormPage) unitText(field, text string) string {
	if field != "model" {
		return text
	}
	id, words := customer.ModelOf(text)
	for _, m := range p.Models {
		if m.ID == id {
			return m.Title()
		}
	}
	return words
}

func (p UnitFormPage) path() string { return unitPath(p.Unit.ID) }

// words are the unit's own, which a model of the library takes the place of.
func (p UnitFormPage) words() string {
	if p.Unit.ModelID != 0 {
		return ""
	}
	return p.Unit.Name
}

func (p UnitFormPage) modelOptions() []Option {
	options := modelOptions(p.Models, p.Unit.Kind)
	for i := range options {
		options[i].Chosen = options[i].Value == strconv.FormatInt(p.Unit.ModelID, 10)
	}
	return options
}

// modelOptions are the models of a kind, of all with an empty one, after the
// choice of none.
func modelOptions(models []spec.Model, kind string) []Option {
	options := []Option{{Value: "0", Label: "in own words"}}
	for _, m := range models {
		if kind != "" && m.Kind != kind {
			continue
		}
		travel := ""
		if m.TravelMM != nil {
			travel = strconv.Itoa(*m.TravelMM) + " mm"
		}
		options = append(options, Option{Value: strconv.FormatInt(m.ID, 10), Label: listed(m.Title(), m.Years, travel),
			Attributes: ofSpring("data-spring", m.Spring)})
	}
	return options
}

// bikeHint says for whom else the words about the bike hold.
func (p UnitFormPage) bikeHint() string {
	if len(p.Beside) == 0 {
		return ""
	}
	var names []string
	for _, u := range p.Beside {
		names = append(names, u.Name)
	}
	return "holds for " + listed(names...) + " as well"
}
