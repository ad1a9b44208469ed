package templates

import (
	"fmt"
	"slices"
	"strconv"

	"damperdesk/internal/spec"
)

// ModelFormsPage changes a model and its documents; each form has a Base of its
// own.
type ModelFormsPage struct {
	Base
	Model                  spec.Model
	Ties                   spec.Ties
	Documents              []spec.Document
	Change, Document, Away Base
}

func namedOptions(values []string, words func(string) string, chosen string) []Option {
	var options []Option
	for _, v := range values {
		options = append(options, Option{Value: v, Label: words(v), Chosen: v == chosen})
	}
	return options
}

// choose stands for a choice that is not made yet.
func choose(options []Option, chosen string) []Option {
	return append([]Option{{Label: "choose", Chosen: chosen == ""}}, options...)
}

func legWords(leg string) string {
	if leg == "" {
		return "not known, or neither"
	}
	return "the rider’s " + leg
}

func lowersWords(lowers string) string {
	if lowers == "" {
		return "not known, or none"
	}
	return lowers
}

func crownWords(crowns string) string {
	switch crowns {
	case "one":
		return "one, under the head tube"
	case "two":
		return "two, under and over the head tube"
	}
	return notKnown
}

// notKnown leaves open what only a fork has.
const notKnown = "not known, or no fork"

func wheelOptions(chosen *int) []Option {
	options := []Option{{Label: notKnown, Chosen: chosen == nil}}
	for _, w := range spec.Wheels {
		options = append(options, Option{Value: strconv.Itoa(w.MM), Label: wheelWords(w), Chosen: chosen != nil && *chosen == w.MM})
	}
	return options
}

func standardOptions(list []spec.Standard, chosen string) []Option {
	options := []Option{{Label: notKnown, Chosen: chosen == ""}}
	for _, s := range list {
		options = append(options, Option{Value: s.Code, Label: s.Words, Chosen: chosen == s.Code})
	}
	return options
}

func stanchionField(m spec.Model) string {
	if m.StanchionMM == nil {
		return ""
	}
	return strconv.FormatFloat(*m.StanchionMM, 'f', -1, 64)
}

func adjusterOptions(chosen []string) []Option {
	var options []Option
	for _, a := range spec.ModelAdjusters {
		options = append(options, Option{Value: a, Label: adjusterLabel(a), Chosen: slices.Contains(chosen, a)})
	}
	return options
}

func adjusterLabel(adjuster string) string {
	if adjuster == "preload" {
		return "Preload of a coil spring"
	}
	return upperFirst(adjuster)
}

// tied says what stands on the model and what a change does to it.
func (p ModelFormsPage) tied() []string {
	var lines []string
	if p.Ties.Units > 0 {
		lines = append(lines, "On record of this model: "+plural(p.Ties.Units, "unit")+". What is corrected here holds for each of them from its next bench sheet on.")
	}
	if p.Model.Revision > 0 {
		lines = append(lines, fmt.Sprintf("Revision %d of the spec sheet is in force. Spring, damper, legs and adjusters decide which steps a bench sheet has, "+
			"and in which leg they look for a value. A value stays in the leg it was entered for: where the steps then look in the other one, the bench asks by hand until a new revision has it there.", p.Model.Revision))
	}
	if p.Ties.Any() {
		lines = append(lines, "Bench sheets that are started keep the steps and values they were started with.")
	}
	return lines
}
