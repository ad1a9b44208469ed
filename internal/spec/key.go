package spec

import (
	"fmt"
	"slices"
	"strconv"

	"damperdesk/internal/quantity"
)

// The kinds of value that are no physical quantity of their own. A Key's SI
// figures are then plain numbers: a count, a share of 1, hours, months or
// minutes.
const (
	KindCount   quantity.Kind = "count"
	KindShare   quantity.Kind = "share"
	KindHours   quantity.Kind = "hours"
	KindMonths  quantity.Kind = "months"
	KindMinutes quantity.Kind = "minutes"
)

// The units those kinds are shown in. A count has none.
const (
	Percent quantity.Unit = "%"
	Hours   quantity.Unit = "h"
	Months  quantity.Unit = "months"
	Minutes quantity.Unit = "min"
)

// plainUnits holds the one unit of each kind that is not physical, and how
// many of it make 1.
var plainUnits = map[quantity.Kind]struct {
	unit quantity.Unit
	per1 float64
}{
	KindCount:   {"", 1},
	KindShare:   {Percent, 100},
	KindHours:   {Hours, 1},
	KindMonths:  {Months, 1},
	KindMinutes: {Minutes, 1},
}

// The groups a spec sheet is read in, in their order.
const (
	Torques   = "Torques"
	Oils      = "Oils"
	Pressures = "Pressures"
	Settings  = "Settings"
	Measures  = "Measures"
	Limits    = "Limits"
	Intervals = "Intervals"
	Times     = "Times"
)

// Groups lists the groups in the order a sheet shows them.
var Groups = []string{Torques, Oils, Pressures, Settings, Measures, Limits, Intervals, Times}

// Key is something a spec sheet can state. All four bounds are SI: nobody
// wonders at a value within the usual ones, and a value outside the Ask ones
// is questioned before it is taken.
type Key struct {
	ID                  string
	Name                string
	Group               string
	Kind                quantity.Kind
	Unit                quantity.Unit // the trade's, and that of the ranges
	UsualLow, UsualHigh float64
	AskLow, AskHigh     float64
	// Setting marks a starting point that the rider may leave: a reading away
	// from it is no fault.
	Setting bool
	// NoJudgement marks a value on which a life hangs: own judgement never
	// serves as its source.
	NoJudgement bool
	// NotOver marks a limit from above: a reading below it is right.
	NotOver bool

	// At is the part of the drawing it belongs to, without its side; empty for
	// the whole unit. Leg is "spring" or "damper" where it goes with one of them.
	At, Leg string
	// Adjuster and Form say what is counted of which adjuster, from closed:
	// "clicks", "turns" or "positions".
	Adjuster, Form string
	// Only names kinds, springs, dampers, adjusters and TwoCrowns, one of which a
	// model has to be or have for the key to mean anything; empty for any model.
	Only []string
}

// Find returns the key of that id.
func Find(id string) (Key, bool) {
	i, ok := byID[id]
	if !ok {
		return Key{}, false
	}
	return Keys[i], true
}

var byID = func() map[string]int {
	ids := make(map[string]int, len(Keys))
	for i, k := range Keys {
		ids[k.ID] = i
	}
	return ids
}()

// On is the key with the ranges of a place on such a model. In the leg of a
// damper that shares its oil with the lowers, the bath is that of the damper;
// where the leg is not known, either serves.
func (k Key) On(m Model, place string) Key {
	if k.ID != "lower-leg oil" || m.Damper != "shared oil" {
		return k
	}
	bath, _ := Find("shared oil")
	switch m.DamperLeg {
	case "":
		k.UsualHigh, k.AskHigh = bath.UsualHigh, bath.AskHigh
	default:
		if containsPlace(place, "foot-"+m.DamperLeg) {
			k.UsualLow, k.UsualHigh, k.AskLow, k.AskHigh = bath.UsualLow, bath.UsualHigh, bath.AskLow, bath.AskHigh
		}
	}
	return k
}

// InForm is the key for the same of the same adjuster in the form that the sheet
// counts it in; the key itself where the sheet has none.
func (k Key) InForm(sheet Sheet) Key {
	if k.Adjuster == "" || len(sheet.of(k.ID)) > 0 {
		return k
	}
	for _, v := range sheet.Values {
		stated, _ := Find(v.Key)
		if stated.Adjuster != k.Adjuster || stated.Form == k.Form {
			continue
		}
		alike := func(o Key) bool { return o.Adjuster == k.Adjuster && o.Setting == k.Setting && o.Form == stated.Form }
		if i := slices.IndexFunc(Keys, alike); i >= 0 {
			return Keys[i]
		}
	}
	return k
}

// Measurable reports whether the shop can find the value out on the unit. What
// a fastener is to be tightened to, and what must never be gone over, cannot be.
func (k Key) Measurable() bool { return k.Kind != quantity.KindTorque && !k.NoJudgement }

// SourceFault says why a source of that kind does not serve for the key; empty
// when it does.
func (k Key) SourceFault(kind string) string {
	switch {
	case kind != FromMeasuring && kind != FromJudgement:
		return ""
	case k.NoJudgement:
		return "For this one only the maker’s document serves."
	case kind == FromMeasuring && !k.Measurable():
		return "A torque cannot be measured on the unit: take it from the maker’s document, or judge it by comparison."
	}
	return ""
}

// Question is the sentence that asks back about a value outside the Ask range,
// in the unit it was given in; empty for a value that needs no question.
func (k Key) Question(si float64, unit quantity.Unit) string {
	const edge = 1e-9 // a value typed on the bound is on it
	if si >= k.AskLow*(1-edge) && si <= k.AskHigh*(1+edge) {
		return ""
	}
	return fmt.Sprintf("Really %s? %s lies between %s and %s nearly everywhere.",
		Show(k.Kind, si, unit), k.Name, Show(k.Kind, k.AskLow, unit), Show(k.Kind, k.AskHigh, unit))
}

// HasUnit reports whether values of the key may be shown in the unit.
func (k Key) HasUnit(unit quantity.Unit) bool {
	if p, plain := plainUnits[k.Kind]; plain {
		return p.unit == unit
	}
	return unit.Kind() == k.Kind
}

// Show prints a value of any kind with its unit.
func Show(kind quantity.Kind, si float64, unit quantity.Unit) string {
	if p, plain := plainUnits[kind]; plain {
		text := number(si * p.per1)
		if p.unit == "" {
			return text
		}
		return text + "\u00a0" + string(p.unit)
	}
	return quantity.Format(kind, si, unit)
}

// ShowNumber prints as Show does, without the unit.
func ShowNumber(kind quantity.Kind, si float64, unit quantity.Unit) string {
	if p, plain := plainUnits[kind]; plain {
		return number(si * p.per1)
	}
	return quantity.FormatNumber(kind, si, unit)
}

// number prints with up to six digits: what is stored as a share of 1 comes
// back as the percentage typed.
func number(x float64) string { return strconv.FormatFloat(x, 'g', 6, 64) }
