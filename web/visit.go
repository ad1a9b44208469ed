package web

import (
	"cmp"
	"context"
	"errors"
	"net/http"
	"strconv"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bill"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/goahead"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/letter"
	"damperdesk/internal/link"
	"damperdesk/internal/plan"
	"damperdesk/templates"
)

func visitPath(id int64) string { return "/visits/" + strconv.FormatInt(id, 10) }

func (a *App) visit(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		done := r.URL.Query().Get("done")
		base.Done = cmp.Or(billDone[done], bookingDone[done], toldDone[done])
		return a.visitPage(r, base, id, "")
	})
}

// visitPage shows what was typed in the form that was sent, if any.
func (a *App) visitPage(r *http.Request, base templates.Base, id int64, sent string) (templ.Component, error) {
	page := templates.VisitPage{}
	err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		if page.Visit, err = job.Visit(r.Context(), tx, id); err != nil {
			return err
		}
		if page.Estimate, err = bill.Told(r.Context(), tx, id); err != nil {
			return err
		}
		if page.Bill, err = visitBill(r.Context(), tx, base, id, sent); err != nil {
			return err
		}
		if page.Booking, err = visitBooking(r.Context(), tx, base, page.Visit, sent); err != nil {
			return err
		}
		line, err := plan.Read(r.Context(), tx, base.Now)
		if err != nil {
			return err
		}
		page.Expected = expectedOf(line, id)
		if page.Given, err = job.Promises(r.Context(), tx, id); err != nil {
			return err
		}
		if page.Proposals, page.Standing, err = proposals(r.Context(), tx, id); err != nil {
			return err
		}
		if page.Says.Line, page.Says.Notes, err = letter.LineOf(r.Context(), tx, base.Now, id); err != nil {
			return err
		}
		page.Says.Form = base.Alone(uuid.NewString(), sent == "told")
		page.Bill.Offers = goahead.AsAgreed(page.Proposals, page.Bill.Offers)
		token, ok, err := link.Show(r.Context(), tx, a.LinkKey, id, base.Now)
		if ok {
			page.Link = a.address(r, "/c/"+token)
		}
		if err == nil {
			page.Views, err = link.Views(r.Context(), tx, id)
		}
		return err
	})
	page.Base = base
	page.Title = "Visit " + strconv.FormatInt(id, 10) + " of " + page.Visit.Customer
	return templates.Visit(page), err
}

// newLink ends the address the customer has, if any, and makes another.
func (a *App) newLink(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.act(w, r, "new link", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		err := link.Revoke(ctx, tx, by, id)
		if err != nil && !errors.As(err, new(fault.Conflict)) { // there may be none
			return "", err
		}
		_, err = link.Make(ctx, tx, by, a.LinkKey, id, by.At.Add(linkLasts))
		return visitPath(id), err
	})
}

// address is a path as somebody elsewhere has to type it: under the configured
// base, else under the one this request came by.
func (a *App) address(r *http.Request, path string) string {
	if a.BaseURL != "" {
		return a.BaseURL + path
	}
	scheme := "http"
	if r.TLS != nil {
		scheme = "https"
	}
	return scheme + "://" + r.Host + path
}
