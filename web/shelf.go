package web

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/stock"
	"damperdesk/templates"
)

func partPath(id int64) string { return "/parts/" + strconv.FormatInt(id, 10) }

// parts lists what the shop keeps. With something scanned it leads to that item.
func (a *App) parts(w http.ResponseWriter, r *http.Request) error {
	asked := r.URL.Query()
	if scanned := plain(asked.Get("scan")); scanned != "" {
		return a.scanPart(w, r, scanned)
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		if asked.Get("done") == "imported" {
			base.Done = "The file is taken in."
		}
		return a.partsPage(r.Context(), base, asked)
	})
}

func (a *App) scanPart(w http.ResponseWriter, r *http.Request, scanned string) error {
	i, err := stock.Scan(r.Context(), a.pool, scanned)
	if err == nil {
		http.Redirect(w, r, partPath(i.ID), http.StatusSeeOther)
		return nil
	}
	var invalid *fault.Invalid
	if !errors.As(err, &invalid) {
		return err
	}
	return a.show(w, r, http.StatusUnprocessableEntity, func(base templates.Base) (templ.Component, error) {
		base.Errors, base.Typed = invalid.Fields, url.Values{"scan": {scanned}}
		return a.partsPage(r.Context(), base, url.Values{})
	})
}

func (a *App) partsPage(ctx context.Context, base templates.Base, asked url.Values) (templ.Component, error) {
	base.Title = "Parts"
	page := templates.PartsPage{Base: base, Filter: stock.Filter{
		Words: plain(asked.Get("q")), Kind: stock.Sort(asked.Get("kind")), Place: plain(asked.Get("place")),
		State: asked.Get("state"), Gone: asked.Get("gone") != "", After: plain(asked.Get("after")),
	}}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Items, page.More, err = stock.List(ctx, tx, page.Filter); err != nil {
			return err
		}
		page.Places, err = stock.Places(ctx, tx)
		return err
	})
	return templates.Parts(page), err
}

// partLabel is what is stuck on the drawer of an item.
func (a *App) partLabel(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		i, err := stock.Get(r.Context(), a.pool, id)
		if err != nil {
			return nil, err
		}
		base.Title = "Label of " + i.Code
		return templates.PartLabel(templates.PartLabelPage{Base: base, Item: i, Address: a.address(r, partPath(id))}), nil
	})
}
