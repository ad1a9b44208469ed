package web

import (
	"context"
	"net/http"
	"slices"

	"github.com/a-h/templ"

	"damperdesk/internal/bench"
	"damperdesk/internal/staff"
	"damperdesk/templates"
)

// showPicker asks on a tablet who is at the bench, also where somebody is
// signed in already.
func (a *App) showPicker(w http.ResponseWriter, r *http.Request, status int, page templates.PickerPage) error {
	return a.show(w, r, status, func(base templates.Base) (templ.Component, error) {
		return a.pickerPage(r, base, page)
	})
}

func (a *App) pickerPage(r *http.Request, base templates.Base, page templates.PickerPage) (templ.Component, error) {
	base.Title = "Who is at the bench?"
	page.Base, page.Device = base, tablet(r)
	people, err := a.atWork(r.Context())
	if err != nil {
		return nil, err
	}
	page.Places, err = bench.Places(r.Context(), a.pool)
	page.People = people
	return templates.Picker(page), err
}

// atWork lists who works here now, by name.
func (a *App) atWork(ctx context.Context) ([]staff.Person, error) {
	people, err := staff.List(ctx, a.pool)
	return slices.DeleteFunc(people, func(p staff.Person) bool { return p.LeftOn != nil }), err
}

// signInByPIN puts somebody in the place of whoever was signed in on the tablet.
func (a *App) signInByPIN(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	next, kept, device := localPath(f.text("next")), keptFields(r.PostForm), tablet(r)
	if f.text("with") == "passphrase" {
		return a.showSignIn(w, r, http.StatusOK, templates.SignInPage{Next: next, Kept: kept, Lost: len(kept) > 0})
	}
	p, err := staff.CheckPIN(r.Context(), a.pool, device.ID, f.number("who"), f.values.Get("pin"), r.RemoteAddr, a.Now())
	if err != nil {
		return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) {
			if device.ID == 0 {
				base.Title = "Sign in"
				return templates.SignIn(templates.SignInPage{Base: base, Next: next, Kept: kept}), nil
			}
			return a.pickerPage(r, base, templates.PickerPage{Next: next, Back: localPath(f.text("back")), Kept: kept})
		})
	}
	if err := a.letInByPIN(r, p); err != nil {
		return err
	}
	a.renewTablet(w, r)
	if len(kept) > 0 {
		return a.goOn(w, r, p, kept)
	}
	if next == "/" {
		if next, err = a.leftOff(r.Context(), p); err != nil {
			return err
		}
	}
	http.Redirect(w, r, next, http.StatusSeeOther)
	return nil
}

// leftOff leads a mechanic to the step they go on at, anybody else to the first
// page.
func (a *App) leftOff(ctx context.Context, p staff.Person) (string, error) {
	if !p.Has(mechanic) {
		return "/", nil
	}
	places, err := bench.Places(ctx, a.pool)
	if err != nil {
		return "", err
	}
	at, working := places[p.ID]
	switch {
	case !working:
		return "/", nil
	case at.Next == nil:
		return benchPath(at.JobID), nil
	}
	return stepPath(at.JobID, at.Next.ID), nil
}
