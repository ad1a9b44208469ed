package templates

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// DraftPage is the draft of a model's next revision beside the sheet in force;
// the ID of either is 0 where there is none.
type DraftPage struct {
	Base
	Model          spec.Model
	Current, Draft spec.Sheet
	Differences    []spec.Difference
	Editors        []string
	Missing        []procedure.Ask
	// NotMine says why whoever looks may not check it; Alone that they do so
	// without anybody else, having written in it.
	NotMine string
	Alone   bool
	Drop    Base
}

// ValuePage asks for one value of a draft; the ID of Value is 0 for a new one.
type ValuePage struct {
	Base
	Model       spec.Model
	Draft       spec.Sheet
	Key         spec.Key
	Value       spec.Value
	Documents   []spec.Document
	PlaceStays  bool // it is changed where it is
	Put, Remove Base
}

func draftPath(model int64) string { return modelPath(model) + "/draft" }

// valuePath leads to the form for a value: one on the draft, or a new one.
func valuePath(model int64, v spec.Value) string {
	q := url.Values{}
	if v.ID != 0 {
		q.Set("value", strconv.FormatInt(v.ID, 10))
	} else {
		q.Set("key", v.Key)
		q.Set("place", v.Place)
	}
	return draftPath(model) + "/value?" + q.Encode()
}

// values are those of the draft in the order of the registry.
func (p DraftPage) values() []spec.Value {
	var list []spec.Value
	for _, k := range spec.Keys {
		for _, v := range p.Draft.Values {
			if v.Key == k.ID {
				list = append(list, v)
			}
		}
	}
	return list
}

func keyName(id string) string {
	k, _ := spec.Find(id)
	return k.Name
}

// keyGroup is keys that are chosen from together.
type keyGroup struct {
	Name string
	Keys []spec.Key
}

// partWords head the keys of a part of the drawing.
var partWords = []struct{ part, words string }{
	{"foot", "Feet"}, {"top", "Top of the legs"}, {"stanchion", "Inside the legs"}, {"knob", "Knob"},
	{"axle", "Axle"}, {"lower", "Lowers"}, {"crown", "Crown"}, {"steerer", "Steerer"},
}

// keyGroups sort the registry by the place a value is at; those that mean
// nothing on such a model come last.
func keyGroups(m spec.Model) []keyGroup {
	var list []keyGroup
	gather := func(name string, in func(spec.Key) bool) {
		g := keyGroup{Name: name}
		for _, k := range spec.Keys {
			if in(k) {
				g.Keys = append(g.Keys, k)
			}
		}
		if len(g.Keys) > 0 {
			list = append(list, g)
		}
	}
	for _, part := range partWords {
		gather(part.words, func(k spec.Key) bool { return k.Fits(m) && k.At == part.part })
	}
	for _, group := range spec.Groups {
		gather("Whole unit: "+strings.ToLower(group), func(k spec.Key) bool { return k.Fits(m) && k.At == "" && k.Group == group })
	}
	gather("Not usual on this model", func(k spec.Key) bool { return !k.Fits(m) })
	return list
}

// keyWords tell keys of one name apart.
func keyWords(k spec.Key) string {
	if k.Unit == "" {
		return k.Name
	}
	return k.Name + ", " + string(k.Unit)
}

// askWords say what the bench will ask for by hand.
func askWords(a procedure.Ask) string { return keyName(a.SpecKey) + ", " + placeWords(a.Place) }

// placeOptions are where the value may apply; one that is stored elsewhere
// keeps its place.
func (p ValuePage) placeOptions() []Option {
	places := p.Key.Places(p.Model)
	if p.PlaceStays {
		places = []string{p.Value.Place}
	}
	if p.Value.ID != 0 && !slices.Contains(places, p.Value.Place) {
		places = append(places, p.Value.Place)
	}
	chosen := p.Value.Place
	if !slices.Contains(places, chosen) {
		chosen = places[0]
	}
	if p.Value.ID == 0 && chosen == "" {
		chosen = places[0]
	}
	var options []Option
	for _, place := range places {
		options = append(options, Option{Value: place, Label: upperFirst(placeWords(place)), Chosen: place == chosen})
	}
	return options
}

func (p ValuePage) documentOptions() []Option {
	options := []Option{{Label: "choose"}}
	for _, d := range p.Documents {
		chosen := p.Value.DocumentID != nil && *p.Value.DocumentID == d.ID || len(p.Documents) == 1
		options = append(options, Option{Value: strconv.FormatInt(d.ID, 10), Label: documentWords(d), Chosen: chosen})
	}
	return options
}

func (p ValuePage) specSources() []Option {
	options := []Option{
		{Value: spec.FromDocument, Label: "The maker’s document"},
		{Value: spec.FromMeasuring, Label: "The shop’s measurement"},
		{Value: spec.FromJudgement, Label: "Own judgement, by comparison"},
	}
	if len(p.Documents) == 0 {
		options[0].Note = "Add the document to the model first."
		options[0].Disabled = true
	}
	if !p.Key.Measurable() {
		options[1].Note = "It cannot be measured on the unit."
		options[1].Disabled = true
	}
	if p.Key.NoJudgement {
		options[2].Note = "Never for this one: people are hurt when it is wrong."
		options[2].Disabled = true
	}
	for i := range options {
		options[i].Chosen = options[i].Value == p.Value.SourceKind && !options[i].Disabled
	}
	return options
}

// typedField is the value as the form takes it.
func (p ValuePage) typedField() string {
	if p.Value.ID == 0 {
		return ""
	}
	return p.Value.Typed()
}

// usual says what the value usually is, and the unit it is in.
func (p ValuePage) usual() string {
	unit := p.unit()
	k := p.Key.On(p.Model, p.Value.Place)
	words := "Usually " + spec.ShowNumber(k.Kind, k.UsualLow, unit) + " to " + spec.Show(k.Kind, k.UsualHigh, unit) + "; the maker’s document governs."
	switch {
	case p.Key.NotOver:
		return "A limit: the one number it must not go over. " + words
	case p.Key.Kind == spec.KindCount:
		return "Such as 17, or with its window 16 to 18. " + words
	}
	return "As it is printed, with its window and unit: a ± b, or a to b. A number alone is in " + string(unit) + ". " + words
}

// unit is what a number without a unit is in: the shop's, where it has one.
func (p ValuePage) unit() quantity.Unit {
	if unit := p.Prefs.Unit(p.Key.Kind); unit != "" {
		return unit
	}
	return p.Key.Unit
}

func (p DraftPage) draftStanding() string {
	if p.Current.ID == 0 {
		return "not in force: the bench asks for each value by hand until it is checked"
	}
	return "not in force: bench sheets take revision " + strconv.Itoa(p.Current.Revision) + " until it is checked"
}

func (p DraftPage) checkLead() string {
	if p.Alone {
		return "Nobody else here can check it. Read each line back from its source once and tick it. The sheet says ever after that you did so alone."
	}
	return "Have the sources at hand, compare each line with its own and tick it. Your name stands on the sheet as the second person’s."
}

func (p DraftPage) checkWords() string {
	if p.Alone {
		return "Read back: put it in force"
	}
	return "Checked: put it in force"
}
