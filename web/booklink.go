package web

import (
	"context"
	"net/http"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/link"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

func bookPath(token string) string { return "/b/" + token }

// bookLink is the address of a unit's book as its rider opens it; empty without
// one.
func (a *App) bookLink(r *http.Request, q db.Querier, unit int64, base templates.Base) (string, error) {
	token, ok, err := link.ShowOfUnit(r.Context(), q, a.LinkKey, unit, base.Now)
	if err != nil || !ok {
		return "", err
	}
	return a.address(r, bookPath(token)), nil
}

// makeBookLink gives the unit an address for its book, or lengthens the one it has.
func (a *App) makeBookLink(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.act(w, r, "make book link", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		_, err := link.MakeOfUnit(ctx, tx, by, a.LinkKey, id)
		return unitPath(id) + "?done=link", err
	})
}

func (a *App) revokeBookLink(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.act(w, r, "revoke book link", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return unitPath(id) + "?done=revoked", link.RevokeOfUnit(ctx, tx, by, id)
	})
}

// printSticker is what is stuck on a unit whose book has a link.
func (a *App) printSticker(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		page := templates.StickerPage{}
		err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
			if page.Unit, err = customer.GetUnit(r.Context(), tx, id); err != nil {
				return err
			}
			if page.Desk, err = shop.Get(r.Context(), tx); err != nil {
				return err
			}
			if page.Link, err = a.bookLink(r, tx, id, base); err == nil && page.Link == "" {
				err = fault.NotFound("The book of this unit has no link yet: make one on the unit’s page.")
			}
			return err
		})
		base.Title = "Sticker of " + page.Unit.Name
		page.Base = base
		return templates.Sticker(page), err
	})
}
