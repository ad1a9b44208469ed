package templates

import (
	"strconv"
	"strings"

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
	Missing []MissingValue
}

// MissingValue is what a step will ask for, with its source.
type MissingValue struct {
	Key   spec.Key
	Place string
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
	return strings.Join(facts, ", ")
}

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
		if m.Key.ID == k.ID {
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
