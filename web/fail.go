package web

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/base32"
	"errors"
	"net/http"

	"github.com/a-h/templ"

	"damperdesk/internal/fault"
	"damperdesk/templates"
)

// fail answers a request that went wrong: people read one safe sentence, the
// log has the rest under the same id.
func (a *App) fail(w http.ResponseWriter, r *http.Request, err error) {
	customers := a.public || forCustomers(r.URL.Path) && person(r).ID == 0
	if customers && statusOf(err) == http.StatusNotFound {
		err = a.gone(r, err)
	}
	status, sentence := http.StatusInternalServerError, "Something went wrong here."
	again := sentAgain(r)
	if len(again) > 0 { // the commit may have been done
		sentence += " Send it again: what was stored already is not stored twice."
	}
	if s, safe := fault.Sentence(err); safe {
		status, sentence = statusOf(err), s
	}
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		status, sentence = http.StatusRequestEntityTooLarge, tooLargeWords(r)
	}
	id := errorID()
	switch {
	case errors.Is(err, context.Canceled) && r.Context().Err() != nil:
		return // nobody is waiting any more
	case status == http.StatusInternalServerError:
		a.Log.Error("request failed", "error_id", id, "method", r.Method, "path", loggedPath(r.URL.Path), "error", err)
	default:
		a.Log.Info("request refused", "error_id", id, "method", r.Method, "path", loggedPath(r.URL.Path), "status", status, "error", err)
	}
	base := a.bareBase(r)
	if status < http.StatusInternalServerError {
		if full, err := a.base(r, ""); err == nil {
			base = full
		}
	}
	page := templates.ErrorPage{Base: base, Status: status, Sentence: sentence, ID: id, Customers: customers}
	if status == http.StatusInternalServerError {
		page.Again, page.To = again, r.URL.RequestURI()
	}
	if err := render(w, r, status, templates.Error(page)); err != nil {
		http.Error(w, sentence+" ("+id+")", status)
	}
}

// sentAgain is what a form had sent, with its intent, for another try that
// leads where the first one did. Forms without an intent, or with a
// pass-phrase, are not repeated.
func sentAgain(r *http.Request) []templates.KeptField {
	if r.Method != http.MethodPost || r.PostForm.Get("intent") == "" || r.MultipartForm != nil && len(r.MultipartForm.File) > 0 {
		return nil
	}
	return fieldsOf(r.PostForm)
}

func statusOf(err error) int {
	var (
		invalid   *fault.Invalid
		notFound  fault.NotFound
		conflict  fault.Conflict
		forbidden fault.Forbidden
	)
	switch {
	case errors.As(err, &invalid):
		return http.StatusUnprocessableEntity
	case errors.As(err, &notFound):
		return http.StatusNotFound
	case errors.As(err, &conflict):
		return http.StatusConflict
	case errors.As(err, &forbidden):
		return http.StatusForbidden
	}
	return http.StatusInternalServerError
}

// errorID is short enough to read out over the counter.
func errorID() string {
	b := make([]byte, 5)
	rand.Read(b)
	return base32.StdEncoding.EncodeToString(b)
}

func (a *App) notFound(w http.ResponseWriter, r *http.Request) {
	a.fail(w, r, fault.NotFound("There is no such page."))
}

// render makes the whole page in memory before a byte is sent.
func render(w http.ResponseWriter, r *http.Request, status int, page templ.Component) error {
	var buf bytes.Buffer
	if err := page.Render(r.Context(), &buf); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	w.Write(buf.Bytes())
	return nil
}

// show answers with a page made from what every page has.
func (a *App) show(w http.ResponseWriter, r *http.Request, status int, page func(base templates.Base) (templ.Component, error)) error {
	base, err := a.base(r, "")
	if err != nil {
		return err
	}
	c, err := page(base)
	if err != nil {
		return err
	}
	return render(w, r, status, c)
}

// take does the act of a form, unless one of its fields could not be read, and
// shows the form again with what was typed when it is refused.
func (a *App) take(w http.ResponseWriter, r *http.Request, f *form, kind string, do work, again func(base templates.Base) (templ.Component, error)) error {
	err := f.err()
	if err == nil {
		err = a.act(w, r, kind, do)
	}
	if err == nil {
		return nil
	}
	return a.redisplay(w, r, err, again)
}

// redisplay shows the form again with what was typed when err is a refusal the
// person can answer; it passes every other error on.
func (a *App) redisplay(w http.ResponseWriter, r *http.Request, err error, page func(base templates.Base) (templ.Component, error)) error {
	var (
		invalid  *fault.Invalid
		conflict fault.Conflict
	)
	if !errors.As(err, &invalid) && !errors.As(err, &conflict) {
		return err
	}
	base, berr := a.base(r, "")
	if berr != nil {
		return berr
	}
	base.Typed = r.PostForm
	if invalid != nil {
		base.Errors = invalid.Fields
	} else {
		base.Problem = string(conflict)
	}
	c, perr := page(base)
	if perr != nil {
		return perr
	}
	return render(w, r, statusOf(err), c)
}
