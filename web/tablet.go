package web

import (
	"context"
	"errors"
	"net/http"
	"strconv"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/staff"
	"damperdesk/templates"
)

const (
	tabletCookie = "tablet"
	// tabletFor is as long as browsers keep a cookie at most; each sign-in by
	// PIN begins it anew (400 days, draft-ietf-httpbis-rfc6265bis, from memory).
	tabletFor = 400 * 24 * time.Hour
)

// deviceOf is the tablet whose token the browser holds; the zero Device for any
// other browser and for a tablet that was revoked.
func (a *App) deviceOf(r *http.Request) (staff.Device, error) {
	c, err := r.Cookie(tabletCookie)
	if err != nil {
		return staff.Device{}, nil
	}
	d, err := staff.DeviceByToken(r.Context(), a.pool, c.Value)
	if errors.As(err, new(fault.NotFound)) {
		return staff.Device{}, nil
	}
	return d, err
}

func (a *App) setTablet(w http.ResponseWriter, token string) {
	http.SetCookie(w, &http.Cookie{
		Name: tabletCookie, Value: token, Path: "/", MaxAge: int(tabletFor / time.Second),
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: secure(a.BaseURL),
	})
}

// renewTablet keeps a tablet that is in use from being forgotten.
func (a *App) renewTablet(w http.ResponseWriter, r *http.Request) {
	if c, err := r.Cookie(tabletCookie); err == nil {
		a.setTablet(w, c.Value)
	}
}

func (a *App) tablets(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.tabletsPage(r, base)
	})
}

func (a *App) tabletsPage(r *http.Request, base templates.Base) (templ.Component, error) {
	base.Title = "Tablets"
	list, err := staff.Devices(r.Context(), a.pool)
	return templates.Tablets(templates.TabletsPage{Base: base, Tablets: list, Lit: secure(a.address(r, ""))}), err
}

// enrolTablet makes the browser that sends the form a tablet, and ends the
// owner's sign-in on it.
func (a *App) enrolTablet(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	to, err := a.do(r, "tablet enrolled", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		if d := tablet(r); d.ID != 0 {
			return "", fault.Conflict("This device is a tablet already: " + d.Name + ".")
		}
		_, err := staff.Enrol(ctx, tx, by, f.text("name"), staff.DeviceToken(a.LinkKey, by.Intent))
		return "/sign-in", err
	})
	if err != nil {
		return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) { return a.tabletsPage(r, base) })
	}
	act, err := uuid.Parse(f.values.Get("intent")) // a second press gets the token of the first
	if err != nil {
		return err
	}
	if err := a.sessions.Destroy(r.Context()); err != nil {
		return err
	}
	a.setTablet(w, staff.DeviceToken(a.LinkKey, act))
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

func tabletPath(id int64) string { return "/tablets/" + strconv.FormatInt(id, 10) }

// tabletDone is what the page of a tablet says after each of its forms.
var tabletDone = map[string]string{
	"name":   "It has its new name.",
	"revoke": "It is no tablet of the shop any more. Who was signed in there is signed out.",
}

func (a *App) oneTablet(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = tabletDone[r.URL.Query().Get("done")]
		return a.tabletPage(r.Context(), base, id, "")
	})
}

// tabletPage shows what was typed in the form that was sent, if any.
func (a *App) tabletPage(ctx context.Context, base templates.Base, id int64, sent string) (templ.Component, error) {
	d, err := staff.GetDevice(ctx, a.pool, id)
	if err != nil {
		return nil, err
	}
	base.Title = d.Name
	form := func(name string) templates.Base { return base.Alone(uuid.NewString(), sent == name) }
	return templates.Tablet(templates.TabletPage{Base: base, Tablet: d, Rename: form("name"), Revoke: form("revoke")}), nil
}

func renameTablet(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
	return staff.RenameDevice(ctx, tx, by, id, version, f.text("name"))
}

func revokeTablet(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, _ *form) error {
	return staff.Revoke(ctx, tx, by, id, version)
}

// changeTablet makes the handler of the form called name.
func changeTablet(name string, do change) handler {
	return changeBy("tablet: "+name, do,
		func(id int64) string { return tabletPath(id) + "?done=" + name },
		func(a *App, ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
			return a.tabletPage(ctx, base, id, name)
		})
}
