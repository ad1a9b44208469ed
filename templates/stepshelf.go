package templates

import (
	"slices"

	"damperdesk/internal/bench"
	"damperdesk/internal/partslist"
	"damperdesk/internal/procedure"
)

// shelvedNeed is a part of a step in words: what and where, and how it stands.
type shelvedNeed struct {
	words string
	shape Shape
	state string
}

// shelved is what a step takes of the shelf; of a volume, whose fluid is named
// already, what is wrong with it.
func (p StepPage) shelved(s *bench.Step) (list []shelvedNeed) {
	for _, n := range p.Needs {
		if n.Step != s.Key {
			continue
		}
		shape, state := needState(n)
		if s.Kind == procedure.Volume {
			if _, past := p.bottle(n); past {
				list = append(list, shelvedNeed{"", Triangle, "open bottle past its day"})
			}
			if shape == Disc || shape == Square {
				continue
			}
		}
		words := n.Measure.Format(n.Qty) + " " + n.Item
		if n.Place != "" {
			words += ", " + n.Place
		}
		list = append(list, shelvedNeed{words + ":", shape, state})
	}
	return list
}

// bottle is the open bottle of a fluid in words, and whether it is past its time.
func (p StepPage) bottle(n partslist.Need) (words string, past bool) {
	b, open := p.Bottles[n.ItemID]
	if !open {
		return "", false
	}
	words = "The open bottle of " + n.Item
	if b.Batch != "" {
		words += ", " + b.Batch + ","
	}
	till := b.GoodTill(p.Prefs.Zone)
	switch {
	case till == nil:
		return words + " is in use.", false
	case till.Format("2006-01-02") < p.FieldDay(p.Now):
		return words + " was good till " + p.dayOrNone(till) + ": open a new one.", true
	}
	return words + " is good till " + p.dayOrNone(till) + ".", false
}

// bottleWords is the open bottle of the fluid that a volume takes.
func (p StepPage) bottleWords() string {
	for _, n := range p.Needs {
		if n.Step == p.Step.Key && p.Step.Kind == procedure.Volume {
			words, _ := p.bottle(n)
			return words
		}
	}
	return ""
}

func (p StepPage) takesParts() bool {
	return slices.ContainsFunc(p.Lines, func(s *bench.Step) bool { return s.TakesParts() })
}
