package templates

import (
	"cmp"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/interval"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
	"damperdesk/internal/spec"
)

// IntervalsPage is the rules of when each service is due again.
type IntervalsPage struct {
	Base
	Services []procedure.Service
	Models   []spec.Model
	Rules    interval.Rules
	Factors  interval.Factors
	After    interval.EventRules
	Shop     shop.Settings
	Season   interval.Season // by the shop's dates or its hemisphere's
}

// FactorField names the field of a kind of factor; with ".version" after it the
// version that was seen.
func FactorField(kind string) string { return "counts." + kind }

// factorHints say what each factor is for.
var factorHints = map[string]string{
	interval.Wet:        "water and grit wear seals and bushings",
	interval.BikePark:   "more descent and harder hits in an hour",
	interval.EBike:      "a heavier bike, and further in an hour",
	interval.HeavyRider: "with kit",
	interval.AtMost:     "what all of them together count for",
}

// seasonWords say when people ride, and whose dates those are.
func (p IntervalsPage) seasonWords() string {
	whose := "as usual in the " + p.Shop.Hemisphere
	if p.Shop.SeasonFrom != "" {
		whose = "the shop’s own dates"
	}
	return "From " + yearDay(p.Season.First()) + " to " + yearDay(p.Season.Last()) + ": " + whose + "."
}

func yearDay(month time.Month, day int) string { return strconv.Itoa(day) + " " + month.String() }

// dayOf is the day of a date of every year, for a field.
func dayOf(text string) string { return whole(shop.ParseYearDay(text).Day) }

func monthOptions(text string) []Option {
	chosen := shop.ParseYearDay(text).Month
	options := []Option{{Value: "", Label: "as usual", Chosen: chosen == 0}}
	for m := time.January; m <= time.December; m++ {
		options = append(options, Option{Value: strconv.Itoa(int(m)), Label: m.String(), Chosen: chosen == m})
	}
	return options
}

// eventKinds are what can happen, findings too.
func eventKinds() []Option {
	var options []Option
	for _, kind := range append(slices.Clone(interval.Happenings), interval.Watched) {
		options = append(options, Option{Value: kind, Label: happenedText[kind].what})
	}
	return options
}

// eventRuleWhen says after what a rule holds.
func eventRuleWhen(r interval.EventRule) string {
	words := upperFirst(happenedText[r.Kind].what)
	if r.LeastMonths > 0 {
		words += " for " + plural(r.LeastMonths, "month") + " or more"
	}
	return words
}

func eventRulePath(kind, service string) string {
	return "/intervals/event?" + url.Values{"kind": {kind}, "service": {service}}.Encode()
}

// EventRulePage changes what one event asks of one service.
type EventRulePage struct {
	Base
	Service procedure.Service
	Rule    interval.EventRule // version 0: there is none yet
}

func daysValue(n *int) string {
	if n == nil {
		return ""
	}
	return strconv.Itoa(*n)
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
	Season  interval.Season
}

// offSeason says when the off-season is.
func (p IntervalPage) offSeason() string {
	return "The season is from " + yearDay(p.Season.First()) + " to " + yearDay(p.Season.Last()) + ", and the off-season the rest of the year."
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
