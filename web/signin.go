package web

import (
	"errors"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/a-h/templ"

	"damperdesk/internal/fault"
	"damperdesk/internal/staff"
	"damperdesk/templates"
)

func (a *App) signInForm(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	next := localPath(q.Get("next"))
	switch v := visitorOf(r); {
	case v.device.ID != 0 && q.Get("with") != "passphrase":
		return a.showPicker(w, r, http.StatusOK, templates.PickerPage{Next: next, Back: localPath(q.Get("back"))})
	case v.person.ID != 0 && !v.byPIN:
		http.Redirect(w, r, next, http.StatusSeeOther)
		return nil
	}
	return a.showSignIn(w, r, http.StatusOK, templates.SignInPage{Next: next})
}

// askSignIn answers, in place of the page that was wanted, whoever is not
// signed in. What a form had sent goes along in hidden fields.
func (a *App) askSignIn(w http.ResponseWriter, r *http.Request) error {
	page, err := wanted(r)
	if err != nil {
		return err
	}
	if tablet(r).ID != 0 {
		return a.showPicker(w, r, http.StatusUnauthorized, templates.PickerPage{Next: page.Next, Back: "/", Lost: page.Lost, Kept: page.Kept})
	}
	return a.showSignIn(w, r, http.StatusUnauthorized, page)
}

// askPhrase answers whoever is signed in by PIN, where that is not enough.
func (a *App) askPhrase(w http.ResponseWriter, r *http.Request) error {
	page, err := wanted(r)
	if err != nil {
		return err
	}
	page.NotByPIN = true
	return a.showSignIn(w, r, http.StatusForbidden, page)
}

// wanted is the sign-in that leads on to what was asked for.
func wanted(r *http.Request) (templates.SignInPage, error) {
	page := templates.SignInPage{Next: localPath(r.URL.RequestURI())}
	if r.Method == http.MethodPost {
		if err := readBody(r); err != nil {
			return page, err
		}
		page.Next, page.Kept = "/", keep(r.URL.RequestURI(), r.PostForm)
		page.Lost = len(page.Kept) > 0
	}
	return page, nil
}

func (a *App) showSignIn(w http.ResponseWriter, r *http.Request, status int, page templates.SignInPage) error {
	some, err := staff.Any(r.Context(), a.pool)
	if err != nil {
		return err
	}
	if !some {
		http.Redirect(w, r, "/setup", http.StatusSeeOther)
		return nil
	}
	if page.Base, err = a.base(r, "Sign in"); err != nil {
		return err
	}
	return render(w, r, status, templates.SignIn(page))
}

func (a *App) signIn(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	next, kept := localPath(f.text("next")), keptFields(r.PostForm)
	p, err := staff.SignIn(r.Context(), a.pool, f.text("name"), f.values.Get("passphrase"), r.RemoteAddr, a.Now())
	if err != nil {
		return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) {
			base.Title = "Sign in"
			return templates.SignIn(templates.SignInPage{Base: base, Next: next, Kept: kept}), nil
		})
	}
	if err := a.letIn(r, p); err != nil {
		return err
	}
	if len(kept) > 0 {
		return a.goOn(w, r, p, kept)
	}
	http.Redirect(w, r, next, http.StatusSeeOther)
	return nil
}

// letIn signs the browser in by pass-phrase, under a token that nobody knew
// before and in place of whoever was signed in. On a tablet it ends with that.
func (a *App) letIn(r *http.Request, p staff.Person) error {
	ctx := r.Context()
	if err := errors.Join(a.sessions.Clear(ctx), a.sessions.RenewToken(ctx)); err != nil {
		return err
	}
	a.sessions.Put(ctx, sessionStaff, p.ID)
	a.sessions.Put(ctx, sessionEpoch, p.Epoch)
	if device := tablet(r).ID; device != 0 {
		a.sessions.Put(ctx, sessionDevice, device)
	}
	return nil
}

func (a *App) letInByPIN(r *http.Request, p staff.Person) error {
	if err := a.letIn(r, p); err != nil {
		return err
	}
	a.sessions.Put(r.Context(), sessionPIN, true)
	a.sessions.SetDeadline(r.Context(), time.Now().Add(pinShift).UTC())
	return nil
}

func (a *App) signOut(w http.ResponseWriter, r *http.Request) error {
	if err := a.sessions.Destroy(r.Context()); err != nil {
		return err
	}
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	return nil
}

// goOn offers to send what was typed before the sign-in was lost, to whoever
// typed it alone: on a tablet somebody else may have signed in.
func (a *App) goOn(w http.ResponseWriter, r *http.Request, p staff.Person, kept []templates.KeptField) error {
	page := templates.GoOnPage{}
	for _, k := range kept {
		if k.Name == keptTo {
			page.To = localPath(k.Value)
		} else {
			page.Fields = append(page.Fields, templates.KeptField{Name: strings.TrimPrefix(k.Name, keptPrefix), Value: k.Value})
		}
	}
	if page.To == "" {
		return fault.NotFound("There is nothing left to go on with.")
	}
	base, err := a.base(r, "Signed in again")
	if err != nil {
		return err
	}
	base.Person = templates.Person{ID: p.ID, Name: p.Name, Roles: p.Roles}
	page.Base = base
	i := slices.IndexFunc(page.Fields, func(k templates.KeptField) bool { return k.Name == asField })
	if i >= 0 && page.Fields[i].Value != strconv.FormatInt(p.ID, 10) {
		page.Fields = nil
	}
	return render(w, r, http.StatusOK, templates.GoOn(page))
}

// Fields of a form that could not be sent travel through the sign-in under
// this prefix; keptTo is the address they were for, which no field can have.
const (
	keptPrefix = "kept."
	keptTo     = "kept-to"
	asField    = "as" // who opened the page of the form
)

// keep wraps what was sent to an address.
func keep(to string, sent url.Values) []templates.KeptField {
	fields := fieldsOf(sent)
	if fields == nil {
		return nil
	}
	kept := []templates.KeptField{{Name: keptTo, Value: to}}
	for _, f := range fields {
		kept = append(kept, templates.KeptField{Name: keptPrefix + f.Name, Value: f.Value})
	}
	return kept
}

// fieldsOf is what a form had sent, in a fixed order. A form with a pass-phrase
// or a PIN is not kept at all: half of it would be of no use.
func fieldsOf(sent url.Values) []templates.KeptField {
	var fields []templates.KeptField
	for _, name := range slices.Sorted(maps.Keys(sent)) {
		if isSecret(name) {
			return nil
		}
		for _, v := range sent[name] {
			fields = append(fields, templates.KeptField{Name: name, Value: v})
		}
	}
	return fields
}

func keptFields(sent url.Values) []templates.KeptField {
	if !sent.Has(keptTo) {
		return nil
	}
	kept := []templates.KeptField{{Name: keptTo, Value: sent.Get(keptTo)}}
	for _, name := range slices.Sorted(maps.Keys(sent)) {
		if !strings.HasPrefix(name, keptPrefix) {
			continue
		}
		for _, v := range sent[name] {
			kept = append(kept, templates.KeptField{Name: name, Value: v})
		}
	}
	return kept
}

// isSecret tells the fields of forms that hold pass-phrases and PINs.
func isSecret(field string) bool {
	return strings.HasPrefix(field, "passphrase") || field == "pin" || strings.HasPrefix(field, "pin-")
}

// localPath is an address within the app, or the home page: a link to sign in
// must not lead elsewhere.
func localPath(s string) string {
	u, err := url.Parse(s)
	if err != nil || u.Scheme != "" || u.Host != "" || u.User != nil || !strings.HasPrefix(s, "/") ||
		strings.HasPrefix(s, "//") || strings.ContainsAny(s, "\\\r\n\t") {
		return "/"
	}
	return s
}
