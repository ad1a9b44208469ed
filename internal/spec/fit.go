package spec

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Measured is what somebody measured or saw of a unit whose model nobody can
// read. What was not looked at is nil or empty.
type Measured struct {
	Kind      string // of unit
	TravelMM  *int
	Spring    string // "air", "coil"
	SpringLeg string // "left", "right", as the rider sees it
	Build
}

// Fact is one of what was measured, in words, held against a model.
type Fact struct {
	Name  string // "stanchions"
	Seen  string // "35 mm"
	Model string // the same of the model; empty: its maker's figure is not here
	Fits  bool
	// Soft says that it may have been changed since the unit was built, or belongs
	// to the bike: it weighs half.
	Soft bool
}

// Fit is a model held against what was measured of a unit.
type Fit struct {
	Model Model
	Facts []Fact
}

// How far off a measurement may be, common practice (no source): a caliper on a
// dirty leg, and a ruler along it.
const (
	stanchionOffMM = 0.3
	travelOffMM    = 5
)

// Fitting ranks the models of the kind, the best first: those against which
// least speaks, of them those for which most does. Travel and spring can be
// changed inside, and a fork takes a smaller wheel than it was built for, so these
// weigh half. Left out is what has nothing for it, or more against it.
func Fitting(models []Model, m Measured) []Fit {
	var list []Fit
	for _, model := range models {
		f := Fit{model, m.against(model)}
		if in, against := f.weigh(); model.Kind == m.Kind && in > 0 && in >= against {
			list = append(list, f)
		}
	}
	slices.SortStableFunc(list, func(a, b Fit) int {
		aFor, aAgainst := a.weigh()
		bFor, bAgainst := b.weigh()
		return cmp.Or(cmp.Compare(aAgainst, bAgainst), cmp.Compare(bFor, aFor))
	})
	return list
}

// weigh counts what speaks for a model and against it; what is not known of it
// is neither.
func (f Fit) weigh() (in, against int) {
	for _, fact := range f.Facts {
		weight := 2
		if fact.Soft {
			weight = 1
		}
		switch {
		case fact.Fits:
			in += weight
		case fact.Model != "":
			against += weight
		}
	}
	return in, against
}

// Nothing says that nothing was measured.
func (m Measured) Nothing() bool { return len(m.against(Model{})) == 0 }

// Words are what was measured, in a line of at most that many characters; what
// tells most stands first.
func (m Measured) Words(most int) string {
	var words []string
	for _, f := range m.against(Model{}) {
		next := append(words, f.Name+" "+f.Seen)
		if len([]rune(strings.Join(next, ", "))) > most {
			break
		}
		words = next
	}
	return strings.Join(words, ", ")
}

// against lists each fact that was measured beside the same of a model.
func (m Measured) against(model Model) (list []Fact) {
	add := func(measured bool, f Fact) {
		if measured {
			list = append(list, f)
		}
	}
	if d := m.StanchionMM; d != nil {
		f := Fact{Name: "stanchions", Seen: millimetres(*d)}
		if own := model.StanchionMM; own != nil {
			f.Model, f.Fits = millimetres(*own), math.Abs(*d-*own) <= stanchionOffMM
		}
		add(true, f)
	}
	add(m.Axle != "", same("axle", StandardWords(Axles, m.Axle), StandardWords(Axles, model.Axle)))
	add(m.Crowns != "", same("crowns", m.Crowns, model.Crowns))
	add(m.Steerer != "", same("steerer", StandardWords(Steerers, m.Steerer), StandardWords(Steerers, model.Steerer)))
	if m.WheelMM != nil {
		f := same("wheel", m.wheel().Inch+" in", "")
		if own := model.wheel(); own.MM != 0 {
			f.Model, f.Fits, f.Soft = own.Inch+" in", own.MM == *m.WheelMM, own.MM > *m.WheelMM
		}
		add(true, f)
	}
	if t := m.TravelMM; t != nil {
		f := Fact{Name: "travel", Seen: strconv.Itoa(*t) + " mm", Soft: true}
		if own := model.TravelMM; own != nil {
			f.Model, f.Fits = strconv.Itoa(*own)+" mm", max(*t-*own, *own-*t) <= travelOffMM
		}
		add(true, f)
	}
	spring := same("spring", m.Spring, model.Spring)
	spring.Soft = true
	add(m.Spring != "", spring)
	add(m.SpringLeg != "", same("spring leg", ridersLeg(m.SpringLeg), ridersLeg(model.SpringLeg)))
	return list
}

func ridersLeg(leg string) string {
	if leg == "" {
		return ""
	}
	return "rider’s " + leg
}

func same(name, seen, own string) Fact {
	return Fact{Name: name, Seen: seen, Model: own, Fits: seen == own}
}

func millimetres(d float64) string { return strconv.FormatFloat(d, 'f', -1, 64) + " mm" }
