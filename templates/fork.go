package templates

import (
	"slices"
	"strconv"
	"strings"
)

// spot is where a mark points at a place of the fork, in the drawing's units
// of 300 by 548. The rider's left is on the reader's right.
type spot struct{ x, y int }

var spots = map[string]spot{
	"steerer": {150, 44}, "crown": {150, 86}, "arch": {150, 236}, "axle": {150, 487}, "knob": {88, 528},
	"top-right": {88, 78}, "top-left": {212, 78},
	"stanchion-right": {78, 200}, "stanchion-left": {222, 160},
	"wiper-right": {88, 264}, "wiper-left": {212, 264},
	"lower-right": {84, 420}, "lower-left": {216, 420},
	"foot-right": {88, 513}, "foot-left": {212, 513},
}

// ForkPlaces turns the place of a step or value into places of the drawing:
// "foot" or "both feet" lights both, "foot-left" one. A place that is not
// drawn lights nothing.
func ForkPlaces(place string) []string {
	if _, drawn := spots[place]; drawn {
		return []string{place}
	}
	stem := place
	if plural, ok := strings.CutPrefix(place, "both "); ok {
		stem = strings.NewReplacer("feet", "foot", "stanchions", "stanchion", "wipers", "wiper", "lowers", "lower", "tops", "top").Replace(plural)
	}
	if _, sided := spots[stem+"-left"]; sided {
		return []string{stem + "-right", stem + "-left"}
	}
	return nil
}

// ForkWords says places in words, as the rider sees them: "foot, rider's left".
func ForkWords(places []string) string {
	var words []string
	for i := 0; i < len(places); i++ {
		stem, side, sided := strings.Cut(places[i], "-")
		switch {
		case !sided:
			words = append(words, stem)
		case i+1 < len(places) && strings.HasPrefix(places[i+1], stem+"-"):
			words = append(words, stem+", rider’s right and left")
			i++
		default:
			words = append(words, stem+", rider’s "+side)
		}
	}
	return strings.Join(words, "; ")
}

// forkBox frames the half of the fork that matters, where one half holds every
// lit place.
func forkBox(lit []string) string {
	known := slices.DeleteFunc(slices.Clone(lit), func(p string) bool { _, ok := spots[p]; return !ok })
	switch {
	case len(known) == 0:
		return "0 0 300 548"
	case !slices.ContainsFunc(known, func(p string) bool { return spots[p].y < 230 }):
		return "36 218 228 330"
	case !slices.ContainsFunc(known, func(p string) bool { return spots[p].y > 210 }):
		return "36 0 228 330"
	}
	return "0 0 300 548"
}

// ForkMark is a numbered mark on the drawing.
type ForkMark struct {
	Number int
	Place  string
}

// label is where the mark's number stands: outside, on the place's own side.
func (m ForkMark) label() spot {
	s, ok := spots[m.Place]
	switch {
	case !ok:
		return spot{}
	case m.Place == "knob":
		return spot{28, s.y}
	case s.x < 150:
		return spot{28, s.y - 18}
	case s.x == 150 && s.y > 300:
		return spot{150, s.y - 56}
	case s.x == 150:
		return spot{272, s.y - 18}
	}
	return spot{272, s.y - 18}
}

func (m ForkMark) line() string {
	from, to := spots[m.Place], m.label()
	return "M" + num(from.x) + " " + num(from.y) + "L" + num(to.x) + " " + num(to.y)
}

func num(n int) string { return strconv.Itoa(n) }
