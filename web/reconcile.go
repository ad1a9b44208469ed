package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/a-h/templ"

	"damperdesk/internal/reconcile"
	"damperdesk/templates"
)

// shared is a form that two people may have open. It carries what each of its
// fields was when it was opened as "was.<field>".
type shared struct {
	fields []string
	typed  func(f *form, field string) string         // what a field says
	fill   func(typed url.Values, to reconcile.Facts) // makes the fields say so
}

// read gives what the form was opened at and what it is to be. Of a clash that
// it asked about, that is the one of the three that was chosen.
func (s shared) read(f *form) (was, mine reconcile.Facts) {
	was, mine = reconcile.Facts{}, reconcile.Facts{}
	for _, name := range s.fields {
		was[name], mine[name] = f.text("was."+name), s.typed(f, name)
	}
	for _, name := range s.asked(f) {
		switch f.text("pick." + name) {
		case "mine":
		case "theirs":
			mine[name] = was[name]
		case "was":
			mine[name] = f.text("old." + name)
		default:
			f.wrong("pick."+name, "Choose which of the three stands.")
		}
	}
	return was, mine
}

// asked are the fields whose clashes the form asks about.
func (s shared) asked(f *form) []string {
	return slices.DeleteFunc(strings.Fields(f.text("clashes")), func(name string) bool { return !slices.Contains(s.fields, name) })
}

// open are the clashes of a form that has come back and of which one is still to
// be chosen.
func (s shared) open(f *form) (list []reconcile.Clash) {
	for _, name := range s.asked(f) {
		list = append(list, reconcile.Clash{Field: name, Was: f.text("old." + name), Theirs: f.text("was." + name), Mine: s.typed(f, name)})
	}
	return list
}

// clashed is the form as it comes back: with what others changed beside, and
// what stands now as that which it was opened at.
func (s shared) clashed(sent url.Values, d reconcile.Differ) url.Values {
	typed := url.Values{}
	for name, values := range sent {
		if !strings.HasPrefix(name, "pick.") && !strings.HasPrefix(name, "old.") {
			typed[name] = values
		}
	}
	var names []string
	for _, c := range d.Clashes {
		names = append(names, c.Field)
		typed.Set("old."+c.Field, c.Was)
	}
	for _, name := range s.fields {
		typed.Set("was."+name, d.Now[name])
	}
	s.fill(typed, d.Merged)
	typed.Set("clashes", strings.Join(names, " "))
	return typed
}

// again shows the form of which err is the answer. Where somebody else changed a
// field meanwhile it comes back with what was there, theirs and what was typed.
func (a *App) again(w http.ResponseWriter, r *http.Request, f *form, s shared, err error,
	page func(base templates.Base, clashes []reconcile.Clash) (templ.Component, error)) error {
	var differ reconcile.Differ
	if !errors.As(err, &differ) {
		return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) { return page(base, s.open(f)) })
	}
	return a.show(w, r, http.StatusConflict, func(base templates.Base) (templ.Component, error) {
		base.Typed = s.clashed(r.PostForm, differ)
		base.Problem = "Somebody else changed the same while you had this open. Nothing is kept yet: choose which stands."
		return page(base, differ.Clashes)
	})
}

// withOthers is what a page says after a change beside which others stand too.
func withOthers(done string, others []string) string {
	if len(others) > 0 {
		return done + "-both"
	}
	return done
}
