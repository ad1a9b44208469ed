package templates

import (
	"cmp"
	"net/url"
	"strconv"
	"strings"

	"damperdesk/internal/interval"
	"damperdesk/internal/procedure"
	"damperdesk/internal/spec"
)

// IntervalsPage is the rules of when each service is due again.
type IntervalsPage struct {
	Base
	Services []procedure.Service
	Models   []spec.Model
	Rules    interval.Rules
}

// ofModels are the shop's rules for single models.
func (p IntervalsPage) ofModels() []interval.Rule { return p.Rules.OfModels() }

func (p IntervalsPage) modelName(id int64) string {
	for _, m := range p.Models {
		if m.ID == id {
			return m.Title()
		}
	}
	return "model " + strconv.FormatInt(id, 10)
}

func (p IntervalsPage) serviceName(code string) string {
	for _, s := range p.Services {
		if s.Code == code {
			return s.Name
		}
	}
	return code
}

func (p IntervalsPage) serviceOptions() []Option {
	var options []Option
	for _, s := range p.Services {
		options = append(options, Option{Value: s.Code, Label: s.Name})
	}
	return options
}

func (p IntervalsPage) modelOptions() []Option {
	var options []Option
	for _, m := range p.Models {
		options = append(options, Option{Value: strconv.FormatInt(m.ID, 10), Label: listed(m.Title(), m.Years)})
	}
	return options
}

func intervalPath(r interval.Rule) string {
	q := url.Values{"service": {r.ServiceCode}}
	if r.ModelID != 0 {
		q.Set("model", strconv.FormatInt(r.ModelID, 10))
	}
	return "/intervals/rule?" + q.Encode()
}

// ruleWords says a rule in a line: "50 h or 12 months".
func ruleWords(r interval.Rule) string {
	var words []string
	if r.Hours > 0 {
		words = append(words, strconv.Itoa(r.Hours)+" h")
	}
	if r.Months > 0 {
		words = append(words, plural(r.Months, "month"))
	}
	if r.Season {
		words = append(words, "once each off-season")
	}
	return cmp.Or(strings.Join(words, " or "), "never due by itself")
}

// IntervalPage changes one rule.
type IntervalPage struct {
	Base
	Service procedure.Service
	Model   *spec.Model    // nil: every model
	Rule    interval.Rule  // of the shop; version 0 where it has none
	Sheet   *interval.Rule // what the model's spec sheet states; nil: nothing
	Default interval.Rule  // for every model
}

func (p IntervalPage) of() string {
	if p.Model == nil {
		return "Every model"
	}
	return p.Model.Title()
}

// holds says what holds for the model without a rule of the shop's for it.
func (p IntervalPage) holds() string {
	if p.Sheet != nil {
		return "Its spec sheet states " + ruleWords(*p.Sheet) + "."
	}
	return "Its spec sheet states nothing; for every model it is " + ruleWords(p.Default) + "."
}

// whole is a number for a field; none for 0.
func whole(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}
