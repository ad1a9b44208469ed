package templates

import (
	"slices"
	"strconv"
	"strings"

	"github.com/a-h/templ"

	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// MeasuredField begins the names of what was measured of a unit.
const MeasuredField = "measured."

// fitsShown is how many models that fit are offered.
const fitsShown = 6

var measuredFields = []string{"stanchion", "axle", "wheel", "crowns", "steerer", "travel", "spring", "leg"}

// measure is a field of what was measured, which asks for the models that fit.
func measure(prefix, name, label string) Field {
	with := []string{prefix + "kind"}
	for _, n := range measuredFields {
		with = append(with, prefix+MeasuredField+n)
	}
	return Field{Name: prefix + MeasuredField + name, Label: label,
		Attributes: templ.Attributes{"data-find": "/models/measured?prefix=" + prefix, "data-region": fitsID(prefix), "data-with": strings.Join(with, " ")}}
}

// measuring says whether anything is filled in or wrong there.
func measuring(b Base, prefix string) bool {
	return slices.ContainsFunc(measuredFields, func(n string) bool {
		name := prefix + MeasuredField + n
		return b.Value(name, "") != "" || b.Error(name) != ""
	})
}

func fitsID(prefix string) string { return FieldID(prefix+"fits") + "-part" }

// notLooked leaves open what nobody looked at.
func notLooked(options []Option) []Option {
	options[0].Label = "not looked at"
	return options
}

func crownOptions() []Option { return notLooked(namedOptions(spec.ModelCrowns, crownWords, "")) }

func measuredSprings() []Option {
	return []Option{{Label: "not looked at"}, {Value: "air", Label: "air"}, {Value: "coil", Label: "coil"}}
}

func springLegs() []Option { return notLooked(namedOptions(spec.ModelLegs, legWords, "")) }

// caliper is a length that is measured: what was typed without a unit is in
// millimetres, which a caliper shows wherever the shop is.
func caliper(prefix, name, label, hint string) Field {
	f := measure(prefix, name, label)
	f.Unit, f.Hint = string(quantity.Millimetre), hint
	return f
}

func fitOptions(fits []spec.Fit) []Option {
	var options []Option
	for _, f := range fits[:min(len(fits), fitsShown)] {
		options = append(options, Option{Value: strconv.FormatInt(f.Model.ID, 10), Label: listed(f.Model.Title(), f.Model.Years), Note: fitWords(f),
			Attributes: ofSpring("data-spring", f.Model.Spring)})
	}
	return append(options, Option{Value: "0", Label: "None of these", Note: "what was measured is kept beside the own words"})
}

// fitWords say what fits and what does not: "fits: axle, crowns; has travel 160 mm".
func fitWords(f spec.Fit) string {
	var fits, not, open []string
	for _, fact := range f.Facts {
		switch {
		case fact.Fits:
			fits = append(fits, fact.Name)
		case fact.Model != "":
			not = append(not, fact.Name+" "+fact.Model)
		default:
			open = append(open, fact.Name)
		}
	}
	var parts []string
	for _, p := range []struct {
		words string
		list  []string
	}{{"fits: ", fits}, {"differs: it has ", not}, {"not known of it: ", open}} {
		if len(p.list) > 0 {
			parts = append(parts, p.words+strings.Join(p.list, ", "))
		}
	}
	return strings.Join(parts, "; ")
}

// fitsOf are the models that fit what was measured of a unit on the form.
func (p DropOffPage) fitsOf(i int) []spec.Fit { return spec.Fitting(p.Models, p.Measured[i]) }
