package web

import (
	"context"
	"net/http"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/book"
	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/templates"
)

// readBookForm asks for a service book of another shop, for the unit or the
// customer that the address names.
func (a *App) readBookForm(w http.ResponseWriter, r *http.Request) error {
	unit, err := pageBefore(r, "unit")
	if err != nil {
		return err
	}
	of, err := pageBefore(r, "customer")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.readBookPage(r.Context(), base, unit, of)
	})
}

func (a *App) readBookPage(ctx context.Context, base templates.Base, unit, of int64) (templ.Component, error) {
	base.Title = "Read a service book in"
	page := templates.ReadBookPage{Base: base}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if unit != 0 {
			page.Unit, err = customer.GetUnit(ctx, tx, unit)
		}
		if err == nil && of != 0 {
			page.Customer, err = customer.Get(ctx, tx, of)
		}
		return err
	})
	return templates.ReadBook(page), err
}

// bringBook keeps a file and leads to what reading it in would do.
func (a *App) bringBook(w http.ResponseWriter, r *http.Request) error {
	f, name, content, err := brought(r)
	if err != nil {
		return err
	}
	b := book.Brought{UnitID: f.number("unit"), CustomerID: f.number("customer"), Name: name, Content: content}
	return a.take(w, r, f, "service book brought", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		id, err := book.Bring(ctx, tx, by, b)
		return readBookPath(id), err
	}, func(base templates.Base) (templ.Component, error) {
		return a.readBookPage(r.Context(), base, b.UnitID, b.CustomerID)
	})
}

func readBookPath(id int64) string { return "/units/read-book/" + strconv.FormatInt(id, 10) }

func (a *App) bookPlan(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.bookPlanPage(r.Context(), base, id)
	})
}

func (a *App) bookPlanPage(ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
	base.Title = "What the service book brings"
	page := templates.BookPlanPage{Base: base}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		page.Plan, err = book.Look(ctx, tx, id, base.Person.ID, base.Now)
		return err
	})
	return templates.BookPlan(page), err
}

// takeBook does what was shown.
func (a *App) takeBook(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	shown := f.number("shown")
	return a.take(w, r, f, "service book taken in", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		unit, err := book.Take(ctx, tx, by, id, shown)
		return unitPath(unit) + "?done=book", err
	}, func(base templates.Base) (templ.Component, error) {
		return a.bookPlanPage(r.Context(), base, id)
	})
}
