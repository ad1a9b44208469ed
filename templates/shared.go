package templates

import (
	"strings"

	"damperdesk/internal/reconcile"
)

// clashOptions are the three of a clash.
func clashOptions(c reconcile.Clash, show func(field, text string) string) []Option {
	words := func(text string) string { return orNone(show(c.Field, text)) }
	return []Option{
		{Value: "mine", Label: words(c.Mine), Note: "yours"},
		{Value: "theirs", Label: words(c.Theirs), Note: "theirs, as it stands now"},
		{Value: "was", Label: words(c.Was), Note: "what was there when you opened it"},
	}
}

// clashNames go along with the form, so that what was chosen is known.
func clashNames(clashes []reconcile.Clash) string {
	var names []string
	for _, c := range clashes {
		names = append(names, c.Field)
	}
	return strings.Join(names, " ")
}
