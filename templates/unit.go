package templates

import (
	"damperdesk/internal/quantity"
	"damperdesk/internal/shop"
)

// unitOptions are the units a shop may choose for a kind.
func unitOptions(kind quantity.Kind, chosen quantity.Unit) []Option {
	var options []Option
	for _, u := range shop.UnitChoices(kind) {
		options = append(options, Option{Value: string(u), Label: string(u), Chosen: u == chosen})
	}
	return options
}

func hemispheres(chosen string) []Option {
	return []Option{
		{Value: "north", Label: "northern", Chosen: chosen == "north"},
		{Value: "south", Label: "southern", Chosen: chosen == "south"},
	}
}
