package templates

import (
	"slices"
	"strings"

	"damperdesk/internal/job"
	"damperdesk/internal/reconcile"
)

// ChangePage changes what the desk wrote down of a job and its visit.
type ChangePage struct {
	Base
	Job     job.Job
	Visit   job.VisitWithJobs
	Facts   reconcile.Facts // as they stand
	Clashes []reconcile.Clash
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

func factTerm(field string) string { return factWords[field] }

func factText(field, text string) string {
	if field == "symptoms" {
		return symptomWords(strings.Fields(text))
	}
	return text
}
