package templates

import (
	"slices"

	"damperdesk/internal/due"
	"damperdesk/internal/interval"
)

// reasonWords say why something is put off.
var reasonWords = map[string]string{
	"": "not said", "they asked": "they asked for it", "not riding": "not riding just now", "away": "away",
	"no money now": "not now, for the money", "said it is fine": "they say it is fine",
}

func putOffReasons() []Option {
	var list []Option
	for _, r := range due.Reasons {
		list = append(list, Option{Value: r, Label: reasonWords[r]})
	}
	return list
}

// putOffServices are those that come due again on the unit.
func (p UnitBookPage) putOffServices() []Option {
	list := []Option{{Value: "", Label: "every service"}}
	for _, r := range p.Due {
		list = append(list, Option{Value: r.Code, Label: r.Service})
	}
	return list
}

// PutOffWords say what stands: "lower-leg service put off until 1 June 2026,
// not riding just now".
func (b Base) putOffWords(p due.PutOff, service string) string {
	words := "Rides elsewhere: nobody rings until it comes in again"
	if p.Until != nil {
		words = upperFirst(service) + " put off until " + b.Date(*p.Until)
	}
	if p.Reason != "" {
		words += ", " + reasonWords[p.Reason]
	}
	return words
}

// standingPutOffs leaves out those whose day has come.
func (p UnitBookPage) standingPutOffs() []due.PutOff {
	today := interval.Day(p.Now, p.Prefs.zone())
	return slices.DeleteFunc(slices.Clone(p.PutOffs), func(o due.PutOff) bool { return !o.Holds(o.Service, today) })
}

func (p UnitBookPage) putOffService(code string) string {
	for _, r := range p.Due {
		if r.Code == code {
			return lowerFirst(r.Service)
		}
	}
	return "every service"
}
