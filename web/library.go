package web

import (
	"context"
	"fmt"
	"net/http"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/spec"
	"damperdesk/templates"
)

// library is where the models and their sheets leave as a file and come back.
func (a *App) library(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.libraryPage(r.Context(), base)
	})
}

func (a *App) libraryPage(ctx context.Context, base templates.Base) (templ.Component, error) {
	base.Title = "The library as a file"
	models, err := spec.Models(ctx, a.pool)
	return templates.Library(templates.LibraryPage{Base: base, Models: models}), err
}

// libraryFile sends the library, or the model that the address names.
func (a *App) libraryFile(w http.ResponseWriter, r *http.Request) error {
	model, err := pageBefore(r, "model")
	if err != nil {
		return err
	}
	var data []byte
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		data, err = spec.Export(r.Context(), tx, model)
		return err
	})
	if err != nil {
		return err
	}
	name := "library.csv"
	if model != 0 {
		name = fmt.Sprintf("model-%d.csv", model)
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8; header=present")
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	_, err = w.Write(data)
	return err
}

// bringLibrary keeps a file and leads to what it would do.
func (a *App) bringLibrary(w http.ResponseWriter, r *http.Request) error {
	f, name, content, err := brought(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, "library file brought", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		id, err := spec.BringFile(ctx, tx, by, name, content)
		return "/models/csv/" + strconv.FormatInt(id, 10), err
	}, func(base templates.Base) (templ.Component, error) { return a.libraryPage(r.Context(), base) })
}

func (a *App) libraryPlan(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.libraryPlanPage(r.Context(), base, id)
	})
}

func (a *App) libraryPlanPage(ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
	base.Title = "What the file does"
	page := templates.LibraryPlanPage{Base: base}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.File, err = spec.GetFile(ctx, tx, id, base.Person.ID); err != nil {
			return err
		}
		page.Plan, err = spec.PlanImport(ctx, tx, page.File.Content)
		return err
	})
	return templates.LibraryPlan(page), err
}

// takeLibrary does what was shown.
var takeLibrary = changeBy("library imported", func(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, f *form) error {
	if f.text("mark") == "" {
		return fault.Conflict("The page was too old to send; open it again.")
	}
	_, err := spec.Import(ctx, tx, by, id, f.text("mark"))
	return err
}, func(int64) string { return "/models?done=csv" }, (*App).libraryPlanPage)
