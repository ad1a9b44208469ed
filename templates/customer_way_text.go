package templates

import (
	"cmp"

	"damperdesk/internal/customer"
)

// How a customer chooses to read the page, and what comes after it.

const (
	textWay     = "Units, dates and numbers"
	textWayKeep = "Show it so"
	textWayShop = "as the shop writes it"
)

var wayLabels = map[string]string{
	"pressure": "Air pressure", "mass": "Weight", "torque": "Torque",
	"days": "Dates", "clock": "Times of day", "decimals": "Decimals",
}

// wayChoices says a choice by its example; a unit is said by itself.
var wayChoices = map[string]string{
	"day month": "28 November 2026", "month day": "November 28, 2026", "year month day": "2026-11-28",
	"24": "17:00", "12": "5:00\u00a0pm", "point": "7.3", "comma": "7,3",
}

// wayOptions are the choices of a field, the shop's way first.
func wayOptions(w customer.Way, name string, choices []string) []Option {
	said := w.Get(name)
	options := []Option{{Value: "", Label: textWayShop, Chosen: said == ""}}
	for _, c := range choices {
		options = append(options, Option{Value: c, Label: cmp.Or(wayChoices[c], c), Chosen: said == c})
	}
	return options
}
