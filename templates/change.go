package templates

import (
	"slices"
	"strings"

	"damperdesk/internal/job"
)

// ChangePage changes what the desk wrote down of a job and its visit.
type ChangePage struct {
	Base
	Job     job.Job
	Visit   job.VisitWithJobs
	Facts   job.Facts // as they stand
	Clashes []job.Clash
}

var factWords = map[string]string{
	"complaint": "In the rider’s words", "symptoms": "What it does", "hangs": "Hangs at", "cameas": "Came as", "rider": "Weight", "riding": "Riding",
	"ebike": "E-bike", "oldparts": "Old parts", "limit": "Spending limit", "goesback": "Goes back by", "left": "Left with it",
}

func (p ChangePage) field(name, hint string) Field {
	return Field{Name: name, Label: factWords[name], Value: p.Facts[name], Hint: hint}
}

// started says that the bench sheet was made for how the unit came.
func (p ChangePage) started() bool { return p.Job.StartedAt != nil }

func (p ChangePage) choices(name string, words []string) []Option {
	var options []Option
	for _, w := range words {
		options = append(options, Option{Value: w, Label: w, Chosen: w == p.Facts[name]})
	}
	return options
}

func (p ChangePage) symptomChoices() []Option {
	options := symptomOptions()
	for i := range options {
		options[i].Chosen = slices.Contains(p.Job.Symptoms, options[i].Value)
	}
	return options
}

// clashOptions are the three of a clash.
func clashOptions(c job.Clash) []Option {
	words := func(text string) string {
		if c.Field == "symptoms" {
			text = symptomWords(strings.Fields(text))
		}
		return orNone(text)
	}
	return []Option{
		{Value: "mine", Label: words(c.Mine), Note: "yours"},
		{Value: "theirs", Label: words(c.Theirs), Note: "theirs, as it stands now"},
		{Value: "was", Label: words(c.Was), Note: "what was there when you opened it"},
	}
}

// clashNames go along with the form, so that what was chosen is known.
func (p ChangePage) clashNames() string {
	var names []string
	for _, c := range p.Clashes {
		names = append(names, c.Field)
	}
	return strings.Join(names, " ")
}
