package spec

import (
	"slices"
	"strings"
)

// TwoCrowns stands in Key.Only for a fork that may have two crowns.
const TwoCrowns = "two crowns"

// sided are the parts of the drawing that a fork has on both sides.
var sided = []string{"top", "stanchion", "wiper", "lower", "foot"}

// places are the names of the fork drawing that a value or step may point at.
var places = func() []string {
	list := []string{"steerer", "crown", "arch", "axle", "knob"}
	for _, p := range sided {
		list = append(list, p+"-left", p+"-right")
	}
	return list
}()

// ValidPlace reports whether every place named is on the drawing.
func ValidPlace(place string) bool {
	for p := range strings.FieldsSeq(place) {
		if !slices.Contains(places, p) {
			return false
		}
	}
	return true
}

// Places are where a value of the key may apply on such a model, the likeliest
// first: "" is the whole unit. A value of both sides answers for each.
func (k Key) Places(m Model) []string {
	switch {
	case k.At == "" || m.Kind != "fork":
		return []string{""}
	case !slices.Contains(sided, k.At):
		return []string{k.At}
	}
	left, right := k.At+"-left", k.At+"-right"
	both := left + " " + right
	switch k.leg(m) {
	case "left":
		return []string{left, right, both}
	case "right":
		return []string{right, left, both}
	}
	return []string{both, left, right}
}

// leg is the side of the part the key goes with, empty where it is not known.
func (k Key) leg(m Model) string {
	switch k.Leg {
	case "spring":
		return m.SpringLeg
	case "damper":
		return m.DamperLeg
	}
	return ""
}

// Fits reports whether the key means anything on such a model.
func (k Key) Fits(m Model) bool {
	ofForks := []string{"foot", "lower", "crown", "steerer", "axle"}
	if m.Kind != "fork" && slices.Contains(ofForks, k.At) {
		return false
	}
	has := func(part string) bool {
		return part == m.Kind || part == m.Spring || part == m.Damper || slices.Contains(m.Adjusters, part) || part == TwoCrowns && m.Crowns != "one"
	}
	return len(k.Only) == 0 || slices.ContainsFunc(k.Only, has)
}
