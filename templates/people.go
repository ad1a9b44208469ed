package templates

import (
	"slices"
	"strconv"

	"damperdesk/internal/staff"
)

func personPath(id int64) string { return "/people/" + strconv.FormatInt(id, 10) }

func rolesOf(p staff.Person) string { return Person{Roles: p.Roles}.RoleWords() }

func roleOptions(chosen []string) []Option {
	var options []Option
	for _, r := range staff.Roles {
		options = append(options, Option{Value: r, Label: RoleWord(r), Chosen: slices.Contains(chosen, r)})
	}
	return options
}

func newPassphrase(label string) Field {
	return Field{
		Name: "passphrase", Label: label, Type: "password", Autofill: "new-password", Required: true,
		Hint: "At least 10 characters. Several words in a row are easy to keep in mind and hard to guess.",
	}
}

// Alone is the base of one form among several on a page: an act of its own,
// and what was typed or wrong only if this form was the one that was sent.
func (b Base) Alone(intent string, sent bool) Base {
	b.Intent = intent
	if !sent {
		b.Typed, b.Errors = nil, nil
	}
	return b
}
