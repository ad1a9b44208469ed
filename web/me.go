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
	if r.URL.Query().Get("done") == "passphrase" {
		base.Done = "You have a new pass-phrase. Other devices were signed out."
	}
	return render(w, r, http.StatusOK, templates.Me(mePage(base)))
}

func mePage(base templates.Base) templates.MePage {
	return templates.MePage{Base: base, OutIntent: uuid.NewString()}
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
			base.Title = who.Name
			return templates.Me(mePage(base)), nil
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

// confirm checks the pass-phrase of somebody who is signed in. It has
// transactions of its own, so it comes before the act, not inside it; a form
// whose act is done passes, since the act then does nothing.
func (a *App) confirm(r *http.Request, who staff.Person, passphrase string) error {
	if id, err := uuid.Parse(r.PostForm.Get("intent")); err == nil {
		if done, err := intent.Done(r.Context(), a.pool, id); done || err != nil {
			return err
		}
	}
	_, err := staff.SignIn(r.Context(), a.pool, who.Name, passphrase, r.RemoteAddr, a.Now())
	if errors.As(err, new(*fault.Invalid)) {
		return fault.Field("passphrase-now", "That is not your present pass-phrase.")
	}
	return err
}
