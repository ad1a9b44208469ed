package web

import (
	"context"
	"net/http"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/book"
	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/link"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

// riderBook is the service book of a unit behind its link. Looking changes nothing
// of the work.
func (a *App) riderBook(w http.ResponseWriter, r *http.Request) error {
	var at templates.Base
	err := a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		at = base
		base.Done = templates.RiderBookDone(r.URL.Query().Get("done"))
		return a.riderBookView(r, base)
	})
	if err == nil {
		a.viewed(r, chi.URLParam(r, "token"), at.Now, at.Prefs.Zone)
	}
	return err
}

func (a *App) riderBookView(r *http.Request, base templates.Base) (templ.Component, error) {
	base.Person, base.Intent = templates.Person{}, uuid.NewString()
	page := templates.RiderBookPage{Base: base, Token: chi.URLParam(r, "token")}
	err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
		unit, err := link.OpenUnit(r.Context(), tx, page.Token, base.Now)
		if err != nil {
			return err
		}
		if page.Book, err = book.Read(r.Context(), tx, unit, base.Now); err != nil {
			return err
		}
		if page.Way, err = customer.GetWay(r.Context(), tx, page.Unit.CustomerID); err != nil {
			return err
		}
		today := interval.Day(base.Now, base.Prefs.Zone)
		page.LeftOut = page.Book.File(today).LeftOut
		page.Since, err = book.LastBack(r.Context(), tx, unit, today, base.Prefs.Zone)
		return err
	})
	page.Prefs = page.Prefs.For(page.Way)
	return templates.RiderBook(page), err
}

// riderBookFile is the book as a file, for whoever has the link.
func (a *App) riderBookFile(w http.ResponseWriter, r *http.Request) error {
	return a.sendBook(w, r, func(ctx context.Context, tx pgx.Tx) (int64, error) {
		return link.OpenUnit(ctx, tx, chi.URLParam(r, "token"), a.Now())
	})
}

// unitBookFile is the book as a file, for the shop.
func (a *App) unitBookFile(w http.ResponseWriter, r *http.Request) error {
	return a.sendBook(w, r, func(context.Context, pgx.Tx) (int64, error) { return a.id(r, "id") })
}

// sendBook sends the book of the unit that find names as a file.
func (a *App) sendBook(w http.ResponseWriter, r *http.Request, find func(context.Context, pgx.Tx) (int64, error)) error {
	var content []byte
	err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
		unit, err := find(r.Context(), tx)
		if err != nil {
			return err
		}
		b, err := book.Read(r.Context(), tx, unit, a.Now())
		if err != nil {
			return err
		}
		content, err = b.File(interval.Day(a.Now(), b.Shop.Location())).JSON()
		return err
	})
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Content-Disposition", `attachment; filename="service-book.json"`)
	_, err = w.Write(content)
	return err
}

// mostSaidOnPage is how many readings of a unit its rider may add in a day: enough
// to mend a slip, too few to fill a database with.
const mostSaidOnPage = 12

// sayHoursInBook writes down what the rider says of their riding.
func (a *App) sayHoursInBook(w http.ResponseWriter, r *http.Request) error {
	f, err := a.bookForm(r)
	if err != nil {
		return err
	}
	said := f.said("")
	said.Source = interval.Sources[0]
	return a.inBook(w, r, f, "ride hours in book", "hours", func(ctx context.Context, tx pgx.Tx, by history.By, unit int64) error {
		return riderSays(ctx, tx, by, unit, said)
	})
}

// takeHoursBackInBook takes back what the rider added before.
func (a *App) takeHoursBackInBook(w http.ResponseWriter, r *http.Request) error {
	f, err := a.bookForm(r)
	if err != nil {
		return err
	}
	wrong := f.number("back.wrong")
	return a.inBook(w, r, f, "ride hours back in book", "hours-back", func(ctx context.Context, tx pgx.Tx, by history.By, unit int64) error {
		return within("back", interval.TakeOwnBack(ctx, tx, by, unit, wrong))
	})
}

// bookForm reads a form of the book, once its link leads to one.
func (a *App) bookForm(r *http.Request) (*form, error) {
	if _, err := link.OpenUnit(r.Context(), a.pool, chi.URLParam(r, "token"), a.Now()); err != nil {
		return nil, err
	}
	return readForm(r)
}

// inBook does what a form of the book asks. Nobody of the shop acts: the event has
// no actor, and its act the address of the book as its fingerprint. Where the act
// led is stored, so it says no more than that it was done: the address is a secret.
func (a *App) inBook(w http.ResponseWriter, r *http.Request, f *form, kind, done string, do func(ctx context.Context, tx pgx.Tx, by history.By, unit int64) error) error {
	token := chi.URLParam(r, "token")
	done, err := a.do(r, kind, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		by.Staff, by.Roles, by.Device = 0, nil, 0 // somebody of the shop does it on the unit's own page
		unit, err := link.OpenUnit(ctx, tx, token, by.At)
		if err != nil {
			return "", err
		}
		if err := f.err(); err != nil {
			return "", err
		}
		return done, do(ctx, tx, by, unit)
	})
	if err != nil {
		return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) {
			return a.riderBookView(r, base)
		})
	}
	http.Redirect(w, r, "/b/"+token+"?done="+done, http.StatusSeeOther)
	return nil
}

// riderSays counts hours from the day the unit was last back from a service; the
// habit began before anybody remembers, as on the drop-off.
func riderSays(ctx context.Context, tx pgx.Tx, by history.By, unit int64, said interval.Said) error {
	settings, err := shop.Get(ctx, tx)
	if err != nil {
		return err
	}
	lately, err := interval.SaidLately(ctx, tx, unit, by.At)
	if err != nil {
		return err
	}
	if lately >= mostSaidOnPage {
		return fault.Conflict(templates.TextSaidEnough)
	}
	today := interval.Day(by.At, settings.Location())
	if said.HoursSince, err = book.LastBack(ctx, tx, unit, today, settings.Location()); err != nil {
		return err
	}
	return interval.Say(ctx, tx, by, unit, said, today)
}
