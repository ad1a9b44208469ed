// Package templates draws the pages. Each page takes one struct that holds a
// Base and the read types it shows; parts take plain values. Nothing here reads
// a clock or a database.
package templates

import (
	"net/url"
	"slices"
	"strings"
	"time"
)

// Base is what every page needs, loaded once a request.
type Base struct {
	Title  string // of the page, without the app's name
	Shop   string
	Person Person
	Tablet string // the name of the enrolled tablet it is shown on, if it is
	ByPIN  bool   // the person signed in by PIN
	Path   string // of this page, marks the place in the navigation
	Prefs  Prefs
	Now    time.Time

	// Intent is the id of the act that the page's form would do.
	Intent string
	// Problem is one sentence above a form that could not be taken; Errors
	// has a sentence for each field, by its name; Typed is what was sent, and
	// fills the fields again.
	Problem string
	Errors  map[string]string
	Typed   url.Values

	// Done is one sentence about what the last press did.
	Done string
	// Live is the subject whose changes make this page stale, "board" or
	// "job:12"; empty for a page that does not follow.
	Live string
	// Seen says how far a page that follows had read when it was opened; the
	// page hands it back when it asks again.
	Seen string
	// Find shows the box that finds customers, units and tickets, with what was
	// Looked for in it.
	Find   bool
	Looked string
}

// Person is who is signed in; the zero Person is nobody.
type Person struct {
	ID    int64
	Name  string
	Roles []string // desk, mechanic, owner
}

func (p Person) SignedIn() bool { return p.ID != 0 }

// Has says whether p has any of the roles.
func (p Person) Has(roles ...string) bool {
	return slices.ContainsFunc(roles, func(r string) bool { return slices.Contains(p.Roles, r) })
}

// RoleWords is how p's roles are spoken of: "front desk, mechanic".
func (p Person) RoleWords() string {
	words := make([]string, 0, len(p.Roles))
	for _, r := range []string{"owner", "mechanic", "desk"} {
		if p.Has(r) {
			words = append(words, RoleWord(r))
		}
	}
	return strings.Join(words, ", ")
}

// RoleWord is how one role is spoken of.
func RoleWord(role string) string {
	if role == "desk" {
		return "front desk"
	}
	return role
}

// place is one of the places to go in the page's head.
type place struct {
	path, word string
	roles      []string // none: everybody signed in
	over       []string // other addresses that belong to it
}

var places = []place{
	{path: "/board", word: "Board", over: []string{"/answers", "/promises"}},
	{path: "/drop-off", word: "Drop-off", roles: []string{"desk", "owner"}},
	{path: "/bench", word: "Bench", roles: []string{"mechanic", "owner"}},
	{path: "/due", word: "Due list", roles: []string{"desk", "owner"}},
	{path: "/messages", word: "Messages", roles: []string{"desk", "owner"}},
	{path: "/models", word: "Spec sheets", over: []string{"/tools", "/calculators"}},
	{path: "/parts", word: "Parts", over: []string{"/suppliers", "/orders"}},
	{path: "/review", word: "Review", roles: []string{"owner"}},
	{path: "/shop", word: "Shop", roles: []string{"owner"}, over: []string{"/people", "/services", "/procedures", "/intervals", "/tablets"}},
}

func (b Base) places() []place {
	if !b.Person.SignedIn() {
		return nil
	}
	return b.open(places)
}

// open are the places of a list that whoever is signed in may go to.
func (b Base) open(list []place) []place {
	return slices.DeleteFunc(slices.Clone(list), func(p place) bool {
		return len(p.roles) > 0 && !b.Person.Has(p.roles...)
	})
}

// namePath is where the name of whoever is signed in leads: on a tablet to who
// is at the bench, else to their own page.
func (b Base) namePath() string {
	if b.Tablet == "" {
		return "/me"
	}
	return "/sign-in?back=" + url.QueryEscape(b.Path)
}

// here says whether the page is p, belongs to it or lies under it.
func (b Base) here(p place) bool {
	return slices.ContainsFunc(append([]string{p.path}, p.over...), func(path string) bool {
		return b.Path == path || strings.HasPrefix(b.Path, path+"/")
	})
}

// Value is what a field shows: what was typed where the form comes back, else
// what is stored.
func (b Base) Value(name, stored string) string {
	if b.Typed != nil {
		return b.Typed.Get(name)
	}
	return stored
}

// Chosen says whether a choice of that value is made: in what was sent where
// the form comes back, else as stored.
func (b Base) Chosen(name, value string, stored bool) bool {
	if b.Typed != nil {
		return slices.Contains(b.Typed[name], value)
	}
	return stored
}

// Error is the sentence about a field, or empty.
func (b Base) Error(name string) string { return b.Errors[name] }

// unsent says that the last form, if any, was not stored, so that the browser
// keeps its copy of what was typed.
func (b Base) unsent() bool { return b.Problem != "" || len(b.Errors) > 0 }
