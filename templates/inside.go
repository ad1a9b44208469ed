package templates

import (
	"cmp"
	"net/url"
	"strconv"

	"damperdesk/internal/customer"
	"damperdesk/internal/spec"
)

// InsidePage says how a unit is inside; each form has a Base of its own.
type InsidePage struct {
	Base
	Unit        customer.Unit
	Model       spec.Model // of its kind alone where the library has none
	Inside      spec.Inside
	Put, Remove Base
}

// OwnValuePage asks for a value of one unit alone.
type OwnValuePage struct {
	ValuePage
	Unit customer.Unit
}

func insidePath(unit int64) string { return unitPath(unit) + "/inside" }

// ownValuePath leads to the form for a value that a unit has.
func ownValuePath(unit int64, v spec.Value) string {
	return insidePath(unit) + "/value?" + url.Values{"key": {v.Key}, "value": {strconv.FormatInt(v.ID, 10)}}.Encode()
}

// insideFacts are how a unit differs from its model, without its own values.
func insideFacts(in spec.Inside) []fact {
	var list []fact
	add := func(term, words string) {
		if words != "" {
			list = append(list, fact{term, words})
		}
	}
	add("Spring", springWords[in.Spring])
	if in.RateNM != nil {
		rate, _ := spec.Find("coil rate")
		add("Rate", spec.Show(rate.Kind, *in.RateNM, in.RateUnit))
	}
	add("Damper", damperWords[in.Damper])
	if in.TravelMM != nil {
		add("Travel", strconv.Itoa(*in.TravelMM)+"\u00a0mm")
	}
	if in.Spacers != nil {
		add("Spacers", strconv.Itoa(*in.Spacers))
	}
	add("Notes", in.Notes)
	return list
}

// asModel is the choice of what the model has.
func asModel(words string) Option {
	return Option{Label: "as the model has it: " + cmp.Or(words, "not known")}
}

func (p InsidePage) springOptions() []Option {
	of := func(spring string) string { return springWords[spring] }
	return append([]Option{asModel(of(p.Model.Spring))}, namedOptions(spec.ModelSprings, of, p.Inside.Spring)...)
}

func (p InsidePage) damperOptions() []Option {
	of := func(damper string) string { return damperWords[damper] }
	return append([]Option{asModel(of(p.Model.Damper))}, namedOptions(spec.ModelDampers, of, p.Inside.Damper)...)
}

func numberField(n *int) string {
	if n == nil {
		return ""
	}
	return strconv.Itoa(*n)
}

func (p InsidePage) rateField() string {
	if p.Inside.RateNM == nil {
		return ""
	}
	return spec.Value{Key: "coil rate", NominalSI: *p.Inside.RateNM, ShownUnit: p.Inside.RateUnit}.Typed()
}

func (p InsidePage) travelHint() string {
	if p.Model.TravelMM == nil {
		return ""
	}
	return "The model has " + strconv.Itoa(*p.Model.TravelMM) + "\u00a0mm."
}

// ownSources are where a value of one unit may come from; no document of the
// model has to name it.
func (p OwnValuePage) ownSources() []Option {
	options := p.specSources()
	options[0].Note, options[0].Disabled = "", false
	options[0].Label = "A document of whoever made the part"
	for i := range options {
		options[i].Chosen = options[i].Value == p.Value.SourceKind && !options[i].Disabled
	}
	return options
}
