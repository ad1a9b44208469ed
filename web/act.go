package web

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/due"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/intent"
	"damperdesk/internal/shop"
	"damperdesk/internal/staff"
	"damperdesk/templates"
)

// work is what an act does inside its transaction; it says where to go next.
type work func(ctx context.Context, tx pgx.Tx, by history.By) (to string, err error)

// act does the work of a form once and sends the browser on. The form's hidden
// intent id makes a second press, or the same press from an offline queue,
// lead to the same place and do nothing.
func (a *App) act(w http.ResponseWriter, r *http.Request, kind string, do work) error {
	to, err := a.do(r, kind, do)
	if err != nil {
		return err
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

func (a *App) do(r *http.Request, kind string, do work) (to string, err error) {
	if err := readFields(r); err != nil {
		return "", err
	}
	id, err := uuid.Parse(r.PostForm.Get("intent"))
	if err != nil {
		return "", fault.Conflict("The page was too old to send; open it again.")
	}
	who, device := person(r), tablet(r).ID
	by := history.By{At: a.Now().UTC(), Staff: who.ID, Roles: who.Roles, Device: device, Intent: id}
	print, err := a.fingerprint(r, id)
	if err != nil {
		return "", err
	}
	act := intent.Act{ID: id, Kind: kind, Actor: who.ID, Device: device, Fingerprint: print, At: by.At}
	return intent.Do(r.Context(), a.pool, act, func(tx pgx.Tx) (string, error) {
		to, err := do(r.Context(), tx, by)
		if err != nil {
			return "", err
		}
		return to, due.Settle(r.Context(), tx, by.At)
	})
}

// fingerprint tells one sent form from another. It is stored, and a plain hash
// would be a quick way to try out pass-phrases and PINs: a new one goes in by
// its staff.Mark, the present one that confirms it not at all.
func (a *App) fingerprint(r *http.Request, act uuid.UUID) ([]byte, error) {
	print := openly(r.URL.Path, r.PostForm)
	for _, name := range []string{"passphrase", "pin"} {
		secret := r.PostForm.Get(name)
		if secret == "" || r.PostForm.Has("who") {
			continue
		}
		mark, err := staff.Mark(r.Context(), a.LinkKey, act, secret)
		if err != nil {
			return nil, err
		}
		print = append(print, mark...)
	}
	return print, nil
}

// openly is the fingerprint of the address and of every field that is no
// secret, in a fixed order.
func openly(path string, fields url.Values) []byte {
	h := sha256.New()
	fmt.Fprintf(h, "%q", path)
	for _, name := range slices.Sorted(maps.Keys(fields)) {
		if !isSecret(name) {
			fmt.Fprintf(h, "%q%q", name, fields[name])
		}
	}
	return h.Sum(nil)
}

// base fills what every page of the shop has. title may be empty where the
// page sets it.
func (a *App) base(r *http.Request, title string) (templates.Base, error) {
	b := a.bareBase(r)
	b.Title = title
	s, err := shop.Get(r.Context(), a.pool)
	if errors.As(err, new(fault.NotFound)) {
		return b, nil // not set up yet
	}
	if err != nil {
		return b, err
	}
	b.Shop = s.Name
	b.Prefs = templates.Prefs{
		TorqueUnit: s.TorqueUnit, VolumeUnit: s.VolumeUnit, PressureUnit: s.PressureUnit, MassUnit: s.MassUnit,
		Currency: s.Currency, Zone: s.Location(),
	}
	return b, nil
}

// bareBase asks the database nothing: an error page must not fail in turn.
func (a *App) bareBase(r *http.Request) templates.Base {
	v := visitorOf(r)
	who := v.person
	return templates.Base{
		Person: templates.Person{ID: who.ID, Name: who.Name, Roles: who.Roles},
		Tablet: v.device.Name,
		ByPIN:  v.byPIN,
		Path:   r.URL.Path,
		Now:    a.Now(),
		Prefs:  templates.Prefs{Zone: time.UTC},
		Intent: uuid.NewString(),
		Find:   who.ID != 0,
	}
}
