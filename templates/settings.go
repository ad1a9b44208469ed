package templates

import (
	"github.com/a-h/templ"

	"damperdesk/internal/shop"
)

// SettingsPage is the one form for what is set for the whole shop.
type SettingsPage struct {
	Base
	Settings shop.Settings
}

// zoneField and currencyField stand on the set-up page too.
func zoneField(stored, hint string) Field {
	return Field{Name: "zone", Label: "Time zone", Value: stored, Hint: hint, Required: true,
		Attributes: templ.Attributes{"list": "zones", "data-zone": true}}
}

func currencyField(stored, hint string) Field {
	return Field{Name: "currency", Label: "Currency", Value: stored, Hint: hint, Required: true,
		Attributes: templ.Attributes{"maxlength": "3"}}
}
