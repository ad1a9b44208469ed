package spec

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"damperdesk/internal/fault"
	"damperdesk/internal/quantity"
)

// Where a value comes from.
const (
	FromDocument  = "document"
	FromMeasuring = "measured"
	FromJudgement = "judgement"

	asBuilt = "built" // of one unit, by Inside; never stored as a value
)

// Value is one line of a spec sheet, in SI. Minus and plus are how far a
// reading may lie below and above it.
type Value struct {
	ID         int64
	Key        string
	Place      string // places of the drawing, apart by spaces; empty for the whole unit
	NominalSI  float64
	MinusSI    float64
	PlusSI     float64
	ShownUnit  quantity.Unit
	Entered    string // what was typed, if it was
	Fluid      string
	SourceKind string
	DocumentID *int64
	Page       string
	// SourceWords says how it was measured, or what a judgement compares with.
	SourceWords string

	// OfUnit is the kind of the one unit it is of; empty for a model's.
	OfUnit string `db:"-"`

	// Sure confirms a value outside the range where entry asks back.
	Sure bool `db:"-"`

	// Read with the value.
	DocumentTitle   string
	DocumentEdition string
	By              string // who took it over, measured it or judged it
}

// Source is the value's origin in one line, as it stands beside the value ever
// after.
func (v Value) Source() string {
	if v.OfUnit != "" {
		return "this " + v.OfUnit + ": " + v.from()
	}
	return v.from()
}

func (v Value) from() string {
	switch v.SourceKind {
	case asBuilt:
		return "as built, noted by " + v.By
	case FromDocument:
		words := v.DocumentTitle
		if v.DocumentEdition != "" {
			words += ", " + v.DocumentEdition
		}
		if v.Page != "" {
			words += ", page " + v.Page
		}
		return words
	case FromMeasuring:
		words := "measured by " + v.By
		if v.SourceWords != "" {
			words += ", " + v.SourceWords
		}
		return words
	}
	return "own judgement of " + v.By + ", by comparison with " + v.SourceWords
}

// Show prints the nominal value with its unit.
func (v Value) Show() string { return v.in(v.ShownUnit) }

func (v Value) in(unit quantity.Unit) string {
	k, _ := Find(v.Key)
	return Show(k.Kind, v.NominalSI, unit)
}

// Window prints the range a reading may lie in, in the unit the value is shown
// in: "6.8 to 7.8", "not over", or nothing for a value without one.
func (v Value) Window() string {
	k, _ := Find(v.Key)
	switch {
	case k.NotOver:
		return "not over"
	case v.MinusSI == 0 && v.PlusSI == 0:
		return ""
	}
	return ShowNumber(k.Kind, v.NominalSI-v.MinusSI, v.ShownUnit) + " to " + ShowNumber(k.Kind, v.NominalSI+v.PlusSI, v.ShownUnit)
}

// otherUnit pairs the units in which tools of the same trade are marked.
var otherUnit = map[quantity.Unit]quantity.Unit{
	quantity.NewtonMetre:         quantity.PoundForceInch,
	quantity.PoundForceInch:      quantity.NewtonMetre,
	quantity.PoundForceFoot:      quantity.NewtonMetre,
	quantity.PSI:                 quantity.Bar,
	quantity.Bar:                 quantity.PSI,
	quantity.Kilopascal:          quantity.PSI,
	quantity.NewtonPerMillimetre: quantity.PoundForcePerInch,
	quantity.PoundForcePerInch:   quantity.NewtonPerMillimetre,
	quantity.FluidOunce:          quantity.Millilitre,
}

// Other prints the nominal value in the other unit tools are marked in; empty
// where there is none.
func (v Value) Other() string {
	unit, ok := otherUnit[v.ShownUnit]
	if !ok {
		return ""
	}
	return v.in(unit)
}

// valid names fields "value0.key", "value0.nominal" and so on.
func valid(values []Value, m Model, documents []Document) error {
	fields := map[string]string{}
	if len(values) == 0 {
		fields["values"] = "A spec sheet needs at least one value."
	}
	seen := map[[2]string]bool{}
	for i, v := range values {
		at := [2]string{v.Key, v.Place}
		if seen[at] {
			fields[fmt.Sprintf("value%d.key", i)] = "This value stands on the sheet twice."
		}
		seen[at] = true
		for name, sentence := range v.faults(m, documents) {
			fields[fmt.Sprintf("value%d.%s", i, name)] = sentence
		}
	}
	if len(fields) > 0 {
		return &fault.Invalid{Fields: fields}
	}
	return nil
}

func (v Value) faults(m Model, documents []Document) map[string]string {
	fields := v.figureFaults(m)
	if k, known := Find(v.Key); known && k.HasUnit(v.ShownUnit) {
		v.sourceFaults(k, documents, fields)
	}
	return fields
}

// figureFaults are those of a value apart from its source.
func (v Value) figureFaults(m Model) map[string]string {
	fields := map[string]string{}
	k, known := Find(v.Key)
	if !known {
		fields["key"] = "Choose what the value is from the list."
		return fields
	}
	if !ValidPlace(v.Place) {
		fields["place"] = "Choose a place of the drawing."
	}
	if !k.HasUnit(v.ShownUnit) {
		fields["unit"] = "Choose a unit that fits " + k.Name + "."
		return fields
	}
	if !finite(v.NominalSI) || v.NominalSI < 0 {
		fields["nominal"] = "Give a number that is not below zero."
	} else if question := v.question(k.On(m, v.Place)); question != "" && !v.Sure {
		fields["sure"] = question
	}
	if !finite(v.MinusSI) || !finite(v.PlusSI) || v.MinusSI < 0 || v.PlusSI < 0 || v.MinusSI > max(v.NominalSI, 0) {
		fields["window"] = "Give a range that begins at or below the value and ends at or above it."
	}
	return fields
}

// question asks back about an unusual value, or an unusual end of its window,
// which would let a wrong one through.
func (v Value) question(k Key) string {
	for _, si := range []float64{v.NominalSI, v.NominalSI + v.PlusSI, v.NominalSI - v.MinusSI} {
		if q := k.Question(si, v.ShownUnit); q != "" {
			return q
		}
	}
	return ""
}

// sourceLengths are the same of a value of a sheet, of a chart and of one unit.
func (v Value) sourceLengths(fields map[string]string) {
	for name, words := range map[string]string{"fluid": v.Fluid, "page": v.Page, "words": v.SourceWords} {
		if utf8.RuneCountInString(words) > mostLetters {
			fields[name] = tooLong
		}
	}
}

func (v Value) sourceFaults(k Key, documents []Document, fields map[string]string) {
	v.sourceLengths(fields)
	switch v.SourceKind {
	case FromDocument:
		ofModel := func(d Document) bool { return v.DocumentID != nil && d.ID == *v.DocumentID }
		if !slices.ContainsFunc(documents, ofModel) {
			fields["document"] = "Choose one of this model’s documents."
		}
	case FromMeasuring, FromJudgement:
		if v.DocumentID != nil {
			fields["document"] = "A document goes with a value taken from it only."
		}
		if fault := k.SourceFault(v.SourceKind); fault != "" {
			fields["source"] = fault
		}
		if v.SourceKind == FromJudgement && strings.TrimSpace(v.SourceWords) == "" {
			fields["words"] = "Say what you compare with."
		}
	default:
		fields["source"] = "Say where the value comes from."
	}
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
