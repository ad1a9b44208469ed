package spec

import (
	"math"
	"slices"
	"strconv"

	"damperdesk/internal/quantity"
)

// Difference is a value that two revisions do not have alike: Before is nil for
// one that came, After for one that went. Of a row of the set-up chart it has the
// Rider's mass, and RowBefore and RowAfter in place of those.
type Difference struct {
	Key                 Key
	Place               string
	Before, After       *Value
	Rider               float64 // kg, 0 for a value
	RowBefore, RowAfter *SetupLine
}

// SetupLine is a row of a set-up chart with what holds for the whole chart.
type SetupLine struct {
	SetupRow
	Unit quantity.Unit
	From Value
}

// setupKey stands for the set-up chart among the keys of the registry.
var setupKey = Key{ID: "set-up chart", Name: "Set-up chart", Group: Settings}

// ID names a difference among those of two revisions.
func (d Difference) ID() string {
	if d.Rider > 0 {
		return d.Key.ID + "@" + strconv.FormatFloat(d.Rider, 'g', -1, 64)
	}
	return d.Key.ID + "@" + d.Place
}

// Came and Went report whether only the later or only the earlier of the two
// revisions has it.
func (d Difference) Came() bool { return d.Before == nil && d.RowBefore == nil }
func (d Difference) Went() bool { return d.After == nil && d.RowAfter == nil }

// Differences lists what changed from one revision to another, in the order of
// the registry. Values are the same when figures, unit, fluid and source are.
func Differences(before, after Sheet) []Difference {
	var list []Difference
	for _, k := range Keys {
		for _, v := range before.of(k.ID) {
			now := after.at(v.Key, v.Place)
			if now == nil || !v.same(*now) {
				list = append(list, Difference{Key: k, Place: v.Place, Before: v, After: now})
			}
		}
		for _, v := range after.of(k.ID) {
			if before.at(v.Key, v.Place) == nil {
				list = append(list, Difference{Key: k, Place: v.Place, After: v})
			}
		}
	}
	return append(list, setupDifferences(before.Setup, after.Setup)...)
}

func setupDifferences(before, after Setup) []Difference {
	var masses []float64
	for _, r := range slices.Concat(before.Rows, after.Rows) {
		masses = append(masses, r.RiderKG)
	}
	slices.Sort(masses)
	var list []Difference
	for _, kg := range slices.Compact(masses) {
		was, now := before.line(kg), after.line(kg)
		if was == nil || now == nil || !was.same(*now) {
			list = append(list, Difference{Key: setupKey, Rider: kg, RowBefore: was, RowAfter: now})
		}
	}
	return list
}

// line is the row for exactly that mass, or nil.
func (s Setup) line(kg float64) *SetupLine {
	for _, r := range s.Rows {
		if r.RiderKG == kg {
			return &SetupLine{r, s.Unit, s.From}
		}
	}
	return nil
}

func (l SetupLine) same(o SetupLine) bool {
	for _, c := range setupColumns {
		a, b := c.of(l.SetupRow), c.of(o.SetupRow)
		if (a == nil) != (b == nil) || a != nil && math.Abs(*a-*b) > 1e-9*math.Abs(*a) {
			return false
		}
	}
	return l.Unit == o.Unit && l.From.Source() == o.From.Source()
}

// of are the values of a key; at is the one at exactly that place, or nil.
func (s Sheet) of(key string) []*Value {
	var list []*Value
	for i := range s.Values {
		if s.Values[i].Key == key {
			list = append(list, &s.Values[i])
		}
	}
	return list
}

func (s Sheet) at(key, place string) *Value {
	for _, v := range s.of(key) {
		if v.Place == place {
			return v
		}
	}
	return nil
}

// same compares what stands on the sheet, not how it was typed.
func (v Value) same(o Value) bool {
	return v.sameFigures(o) && v.Fluid == o.Fluid && v.Source() == o.Source()
}

func (v Value) sameFigures(o Value) bool {
	alike := func(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Abs(v.NominalSI) } // noise of a conversion
	return v.Key == o.Key && v.ShownUnit == o.ShownUnit &&
		alike(v.NominalSI, o.NominalSI) && alike(v.MinusSI, o.MinusSI) && alike(v.PlusSI, o.PlusSI)
}
