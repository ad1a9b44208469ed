package templates

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"damperdesk/internal/procedure"
	"damperdesk/internal/spec"
)

// ModelsPage lists the library of models.
type ModelsPage struct {
	Base
	Models []spec.Model
}

// ModelPage is a model and the spec sheet in force.
type ModelPage struct {
	Base
	Model spec.Model
	Sheet spec.Sheet // its ID is 0 when the model has none
	// Missing are values that the shop's services need and the sheet lacks.
	Missing   []procedure.Ask
	Documents []spec.Document
	Revisions []spec.Sheet // newest first
}

// RevisionPage is any revision of a spec sheet, beside another one that it is
// compared with, whose ID is 0 when there is none.
type RevisionPage struct {
	ModelPage
	With spec.Sheet
}

// mayWrite says whether whoever looks writes models and spec sheets.
func (p ModelPage) mayWrite() bool { return p.Person.Has("mechanic", "owner") }

func modelPath(id int64) string { return "/models/" + strconv.FormatInt(id, 10) }

func revisionPath(model int64, revision int) string {
	return modelPath(model) + "/sheets/" + strconv.Itoa(revision)
}

// sheetWords say which revision it is and how it stands.
func sheetWords(s spec.Sheet) string { return "Revision " + strconv.Itoa(s.Revision) + ", " + s.State }

// differences are what changed from the earlier of the two revisions on.
func (p RevisionPage) differences() (older, newer spec.Sheet, list []spec.Difference) {
	older, newer = p.With, p.Sheet
	if older.Revision > newer.Revision {
		older, newer = newer, older
	}
	return older, newer, spec.Differences(older, newer)
}

// unchangedValues are those that two revisions have alike.
func unchangedValues(newer spec.Sheet, list []spec.Difference) []spec.Value {
	return slices.DeleteFunc(slices.Clone(newer.Values), func(v spec.Value) bool {
		return slices.ContainsFunc(list, func(d spec.Difference) bool { return d.After != nil && d.After.ID == v.ID })
	})
}

// unchanged says how many values two revisions have alike.
func unchanged(newer spec.Sheet, list []spec.Difference) string {
	n := len(unchangedValues(newer, list))
	if n == 1 {
		return "1 value did not change."
	}
	return strconv.Itoa(n) + " values did not change."
}

// placeWords say where a value applies.
func placeWords(place string) string {
	return cmp.Or(ForkWords(strings.Fields(place)), "whole unit")
}

// valueWords are a value's figures and fluid: "7.3 N·m, 6.8 to 7.8".
func valueWords(v spec.Value) string {
	words := []string{v.Show()}
	if w := v.Window(); w != "" {
		words = append(words, w)
	}
	if v.Fluid != "" {
		words = append(words, v.Fluid)
	}
	return strings.Join(words, ", ")
}

// modelFacts is what distinguishes a model: "2021 to 2024, 150 mm, air spring,
// cartridge damper".
func modelFacts(m spec.Model) string {
	var facts []string
	if m.Years != "" {
		facts = append(facts, m.Years)
	}
	if m.TravelMM != nil {
		facts = append(facts, strconv.Itoa(*m.TravelMM)+"\u00a0mm")
	}
	facts = append(facts, inLeg(springWords[m.Spring], m.SpringLeg), inLeg(damperWords[m.Damper], m.DamperLeg))
	if m.Lowers != "" {
		facts = append(facts, m.Lowers)
	}
	return strings.Join(append(facts, buildFacts(m.Build)...), ", ")
}

// buildFacts say how a fork fits a bike: "34 mm stanchions, 622 mm (29 in) wheel".
func buildFacts(b spec.Build) []string {
	var facts []string
	if b.StanchionMM != nil {
		facts = append(facts, strconv.FormatFloat(*b.StanchionMM, 'f', -1, 64)+"\u00a0mm stanchions")
	}
	for _, w := range spec.Wheels {
		if b.WheelMM != nil && w.MM == *b.WheelMM {
			facts = append(facts, wheelWords(w)+" wheel")
		}
	}
	if b.Crowns == "two" {
		facts = append(facts, "two crowns")
	}
	if words := spec.StandardWords(spec.Steerers, b.Steerer); words != "" {
		facts = append(facts, "steerer "+words)
	}
	if words := spec.StandardWords(spec.Axles, b.Axle); words != "" {
		facts = append(facts, "axle "+words)
	}
	return facts
}

// wheelWords are a bead seat diameter and the trade's word for it.
func wheelWords(w spec.Wheel) string { return strconv.Itoa(w.MM) + "\u00a0mm (" + w.Inch + "\u00a0in)" }

var (
	springWords = map[string]string{"air": "air spring", "coil": "coil spring", "none": "no spring"}
	damperWords = map[string]string{
		"shared oil": "damper sharing its oil with the lowers",
		"sealed":     "sealed damper",
		"cartridge":  "cartridge damper",
		"none":       "no damper",
	}
)

func inLeg(part, leg string) string {
	if leg == "" {
		return part
	}
	return part + " on the rider’s " + leg
}

// specGroup is the lines of a sheet that are read together.
type specGroup struct {
	Name string
	Rows []specRow
}

type specRow struct {
	Mark   int // the number on the drawing, 0 for none
	Key    spec.Key
	Place  string
	Value  spec.Value
	Absent bool // the step will ask for it
}

// groups sorts values and what is missing as the registry of keys does, and
// numbers the places on the drawing from the first row down.
func (p ModelPage) groups() ([]specGroup, []ForkMark) {
	var (
		groups []specGroup
		marks  []ForkMark
		number = map[string]int{}
	)
	for _, name := range spec.Groups {
		g := specGroup{Name: name}
		for _, k := range spec.Keys {
			if k.Group == name {
				g.Rows = append(g.Rows, p.rows(k)...)
			}
		}
		for i := range g.Rows {
			at, drawn := firstSpot(g.Rows[i].Place)
			if !drawn || p.Model.Kind != "fork" {
				continue
			}
			if number[at] == 0 {
				number[at] = len(marks) + 1
				marks = append(marks, ForkMark{Number: number[at], Place: at})
			}
			g.Rows[i].Mark = number[at]
		}
		if len(g.Rows) > 0 {
			groups = append(groups, g)
		}
	}
	return groups, marks
}

func (p ModelPage) rows(k spec.Key) []specRow {
	var rows []specRow
	for _, v := range p.Sheet.Values {
		if v.Key == k.ID {
			rows = append(rows, specRow{Key: k, Place: v.Place, Value: v})
		}
	}
	for _, m := range p.Missing {
		if m.SpecKey == k.ID {
			rows = append(rows, specRow{Key: k, Place: m.Place, Absent: true})
		}
	}
	return rows
}

// firstSpot is the place a mark of several places points at.
func firstSpot(place string) (string, bool) {
	for at := range strings.FieldsSeq(place) {
		if _, drawn := spots[at]; drawn {
			return at, true
		}
	}
	return "", false
}

func (r specRow) where() string { return ForkWords(strings.Fields(r.Place)) }

// nextRevision is the number a draft begun now has.
func (p ModelPage) nextRevision() int {
	if len(p.Revisions) > 0 {
		return p.Revisions[0].Revision + 1
	}
	return 1
}

// sheetStory says who drafted and checked a revision, and when.
func (b Base) sheetStory(s spec.Sheet) string {
	words := "drafted by " + s.DraftedBy + " on " + b.Day(s.At)
	switch {
	case s.CheckedBy == "":
		return words
	case s.Alone:
		words += ", read back alone by " + s.CheckedBy
	default:
		words += ", checked by " + s.CheckedBy
	}
	if s.CheckedAt != nil {
		words += " on " + b.Day(*s.CheckedAt)
	}
	return words
}

func documentWords(d spec.Document) string {
	if d.Edition == "" {
		return d.Title
	}
	return d.Title + ", " + d.Edition
}
