package spec

import "math"

// Difference is a value that two revisions do not have alike: Before is nil for
// one that came, After for one that went.
type Difference struct {
	Key           Key
	Place         string
	Before, After *Value
}

// ID names a difference among those of two revisions.
func (d Difference) ID() string { return d.Key.ID + "@" + d.Place }

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
	return list
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
