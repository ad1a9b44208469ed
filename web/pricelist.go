package web

import (
	"context"
	"net/http"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/shop"
	"damperdesk/internal/stock"
	"damperdesk/templates"
)

// partsFile sends all parts that are kept, with their prices and what there is.
func (a *App) partsFile(w http.ResponseWriter, r *http.Request) error {
	var data []byte
	err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
		settings, err := shop.Get(r.Context(), tx)
		if err != nil {
			return err
		}
		data, err = stock.Export(r.Context(), tx, settings.Currency)
		return err
	})
	if err != nil {
		return err
	}
	return sendCSV(w, "parts.csv", data)
}

// partsImport is where the parts leave as a file and come in as one.
func (a *App) partsImport(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, partsImportPage)
}

func partsImportPage(base templates.Base) (templ.Component, error) {
	base.Title = "The parts as a file"
	return templates.PartsImport(base), nil
}

// bringParts keeps a file and leads to what it would do.
func (a *App) bringParts(w http.ResponseWriter, r *http.Request) error {
	f, name, content, err := brought(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, "parts file brought", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		id, err := stock.BringFile(ctx, tx, by, name, content)
		return "/parts/import/" + strconv.FormatInt(id, 10), err
	}, partsImportPage)
}

func (a *App) partsPlan(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.partsPlanPage(r.Context(), base, id)
	})
}

func (a *App) partsPlanPage(ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
	base.Title = "What the file of parts does"
	page := templates.PartsPlanPage{Base: base}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.File, err = stock.GetFile(ctx, tx, id, base.Person.ID); err != nil {
			return err
		}
		page.Plan, err = stock.PlanImport(ctx, tx, page.File.Content, base.Prefs.Currency)
		return err
	})
	return templates.PartsPlan(page), err
}

// takeParts does what was shown.
var takeParts = changeBy("parts imported", func(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, f *form) error {
	if f.text("mark") == "" {
		return fault.Conflict("The page was too old to send; open it again.")
	}
	settings, err := shop.Get(ctx, tx)
	if err != nil {
		return err
	}
	_, err = stock.Import(ctx, tx, by, id, f.text("mark"), settings.Currency)
	return err
}, func(int64) string { return "/parts?done=imported" }, (*App).partsPlanPage)
