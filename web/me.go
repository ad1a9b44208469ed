package web

import (
	"context"
	"errors"
	"net/http"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/intent"
	"damperdesk/internal/staff"
	"damperdesk/templates"
)

func (a *App) me(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, person(r).Name)
	if err != nil {
		return err
	}
	base.Done = meDone[r.URL.Query().Get("done")]
	return render(w, r, http.StatusOK, templates.Me(mePage(r, base, "")))
}

// meDone is what one's own page says after each of its forms.
var meDone = map[string]string{
	"passphrase": "You have a new pass-phrase. Other devices were signed out.",
	"pin":        "The PIN is set. It is good on the shop’s tablets.",
}

// mePage shows what was typed in the form that was sent, if any.
func mePage(r *http.Request, base templates.Base, sent string) templates.MePage {
	base.Title = person(r).Name
	form := func(name string) templates.Base { return base.Alone(uuid.NewString(), sent == name) }
	return templates.MePage{
		Base: base, HasPIN: person(r).HasPIN, Passphrase: form("passphrase"), PIN: form("pin"), Out: form("out"),
	}
}

func (a *App) signOutEverywhere(w http.ResponseWriter, r *http.Request) error {
	return a.act(w, r, "sign out everywhere", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return "/sign-in", staff.SignOutEverywhere(ctx, tx, by, by.Staff)
	})
}

// newPassphrase asks for the present pass-phrase too, with the same patience
// as a sign-in: an unattended browser must not be enough.
func (a *App) newPassphrase(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	who, now, fresh := person(r), f.values.Get("passphrase-now"), f.values.Get("passphrase")
	if fresh != f.values.Get("passphrase-again") {
		f.wrong("passphrase-again", "This differs from the new pass-phrase above.")
	}
	var to string
	if err = f.err(); err == nil {
		err = a.confirm(r, who, now)
	}
	if err == nil {
		to, err = a.do(r, "new passphrase", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			return "/me?done=passphrase", staff.ResetPassphrase(ctx, tx, by, who.ID, fresh)
		})
	}
	if err != nil {
		return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) {
			return templates.Me(mePage(r, base, "passphrase")), nil
		})
	}
	p, err := staff.Get(r.Context(), a.pool, who.ID)
	if err != nil {
		return err
	}
	a.sessions.Put(r.Context(), sessionEpoch, p.Epoch)
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// newPIN sets or changes one's own PIN; it asks for the pass-phrase as
// newPassphrase does.
func (a *App) newPIN(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	who, pin := person(r), f.values.Get("pin")
	if says := staff.PINRefusal(pin); says != "" {
		f.wrong("pin", says)
	} else if pin != f.values.Get("pin-again") {
		f.wrong("pin-again", "This differs from the PIN above.")
	}
	if err = f.err(); err == nil {
		err = renamed(a.confirm(r, who, f.values.Get("passphrase-for-pin")), "passphrase-now", "passphrase-for-pin")
	}
	if err == nil {
		err = a.act(w, r, "new PIN", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			return "/me?done=pin", staff.SetPIN(ctx, tx, by, who.ID, pin)
		})
	}
	if err == nil {
		return nil
	}
	return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) {
		return templates.Me(mePage(r, base, "pin")), nil
	})
}

// confirm checks the pass-phrase of somebody who is signed in. It has
// transactions of its own, so it comes before the act, not inside it; a form
// whose act is done passes, since the act then does nothing.
func (a *App) confirm(r *http.Request, who staff.Person, passphrase string) error {
	if done, err := a.isDone(r); done || err != nil {
		return err
	}
	_, err := staff.SignIn(r.Context(), a.pool, who.Name, passphrase, r.RemoteAddr, a.Now())
	if errors.As(err, new(*fault.Invalid)) {
		return fault.Field("passphrase-now", "That is not your present pass-phrase.")
	}
	return err
}

// isDone reports whether the act of the form has been done.
func (a *App) isDone(r *http.Request) (bool, error) {
	id, err := uuid.Parse(r.PostForm.Get("intent"))
	if err != nil {
		return false, nil
	}
	return intent.Done(r.Context(), a.pool, id)
}
