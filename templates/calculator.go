package templates

import (
	"net/url"
	"strings"

	"damperdesk/internal/chart"
	"damperdesk/internal/quantity"
)

// Calculator is one of the bench calculators.
type Calculator struct {
	Path  string // behind /calculators/
	Name  string
	About string
}

func (c Calculator) path() string { return "/calculators/" + c.Path }

// CalculatorsPage lists them.
type CalculatorsPage struct {
	Base
	List []Calculator
}

// CalculatorPage is one calculator, with its answer once something was asked.
type CalculatorPage struct {
	Base
	Calculator
	Fields []CalculatorField
	Answer *Answer
}

// CalculatorField is a field of a calculator; with options it is a choice.
type CalculatorField struct {
	Field
	Options []Option
}

// Answer is what a calculator says: the result first, then how it was got.
type Answer struct {
	Lines   []AnswerLine
	Formula string // in words, with the numbers
	Source  string
	Limits  string
	Chart   *chart.Drawing
	Heads   []string // of the table behind the chart
	Rows    [][]string
}

// AnswerLine is one result; a warning has the shape of one.
type AnswerLine struct {
	Term, Words, Note string
	Warning           bool
}

// unanswered says why there is no answer yet. It repeats what stands beside the
// fields, since as people type only the answer is fetched.
func (p CalculatorPage) unanswered() string {
	var sentences []string
	for _, f := range p.Fields {
		if sentence := p.Error(f.Name); sentence != "" {
			sentences = append(sentences, f.Label+": "+sentence)
		}
	}
	if p.Problem != "" {
		sentences = append(sentences, p.Problem)
	}
	if len(sentences) > 0 {
		return "No answer yet. " + strings.Join(sentences, " ")
	}
	return "The answer stands here once the fields are filled in."
}

// benchLink leads to a calculator with what the step knows filled in.
type benchLink struct{ path, words string }

// calculators are those that the step concerns.
func (p StepPage) calculators() []benchLink {
	known := url.Values{}
	if w, ok := p.Step.Window(); ok {
		known.Set(string(p.Step.Quantity), quantity.Format(p.Step.Quantity, w.Nominal, p.unit(*p.Step)))
	}
	if p.Step.CeilingSI != nil {
		known.Set("most", quantity.FormatDown(p.Step.Quantity, *p.Step.CeilingSI, p.unit(*p.Step)))
	}
	if p.Sheet.Job.RiderKG != nil {
		known.Set("rider", p.Prefs.Mass(*p.Sheet.Job.RiderKG))
	}
	if p.Sheet.Job.TravelMM > 0 {
		known.Set("travel", num(p.Sheet.Job.TravelMM)+" mm")
	}
	to := func(path, words string) benchLink {
		return benchLink{"/calculators/" + path + "?" + known.Encode(), words}
	}
	switch p.Step.Quantity {
	case quantity.KindTorque:
		return []benchLink{to("torque", "With an extension")}
	case quantity.KindPressure:
		list := []benchLink{to("pressure", "On a cold day or high up"), to("sag", "Sag and pressure")}
		if id := p.Sheet.Job.ModelID; id != nil {
			known.Set("model", num(int(*id)))
			list = append(list, to("riders", "What other riders had"))
		}
		return list
	case quantity.KindVolume:
		return []benchLink{to("fluid", "The fluid at a temperature"), to("blend", "Blend two"), to("mix", "Mix what is left")}
	}
	return nil
}
