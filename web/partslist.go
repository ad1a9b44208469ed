package web

import (
	"context"
	"errors"
	"net/http"
	"slices"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/partslist"
	"damperdesk/internal/procedure"
	"damperdesk/internal/spec"
	"damperdesk/internal/stock"
	"damperdesk/templates"
)

var partsListDone = map[string]string{"put": "It is on the list. Jobs that are taken in from now on set it aside.", "off": "It is off the list."}

func partsListPath(code, done string) string { return "/services/" + code + "/parts?done=" + done }

func (a *App) partsLists(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Title = "Parts lists"
		page := templates.PartsListsPage{Base: base}
		err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
			if page.Services, err = procedure.Services(r.Context(), tx); err != nil {
				return err
			}
			page.Counts, err = partslist.Counts(r.Context(), tx)
			return err
		})
		return templates.PartsLists(page), err
	})
}

func (a *App) partsList(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = partsListDone[r.URL.Query().Get("done")]
		return a.partsListPage(r.Context(), base, chi.URLParam(r, "code"))
	})
}

func (a *App) partsListPage(ctx context.Context, base templates.Base, code string) (templ.Component, error) {
	page := templates.PartsListPage{}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		services, err := procedure.Services(ctx, tx)
		if err != nil {
			return err
		}
		at := slices.IndexFunc(services, func(s procedure.Service) bool { return s.Code == code })
		if at < 0 {
			return db.NotThere("service")
		}
		page.Service = services[at]
		if page.Steps, err = partSteps(ctx, tx, services[at:at+1]); err != nil {
			return err
		}
		if page.Lines, err = partslist.Lines(ctx, tx, code); err != nil {
			return err
		}
		page.Models, err = spec.Models(ctx, tx)
		return err
	})
	base.Title = "Parts list: " + page.Service.Name
	page.Base = base
	return templates.PartsList(page), err
}

// partSteps lists the steps of services that take parts or a fluid.
func partSteps(ctx context.Context, q db.Querier, services []procedure.Service) (list []templates.PartStep, err error) {
	blocks, err := procedure.Current(ctx, q, services)
	if err != nil {
		return nil, err
	}
	for _, s := range services {
		steps, err := procedure.May(s, blocks)
		if err != nil {
			return nil, err
		}
		for _, step := range steps {
			known := slices.ContainsFunc(list, func(p templates.PartStep) bool { return p.Key == step.Key })
			if (step.Kind == procedure.Fit || step.Kind == procedure.Volume) && !known {
				list = append(list, templates.PartStep{Key: step.Key, Title: step.Title})
			}
		}
	}
	return list, nil
}

// item reads the item that was scanned or typed in a field, and an amount of it.
func (f *form) item(ctx context.Context, q db.Querier, field, amount string) (item stock.Item, qty int64, err error) {
	item, err = stock.Scan(ctx, q, f.text(field))
	var invalid *fault.Invalid
	if errors.As(err, &invalid) {
		return item, 0, fault.Field(field, invalid.Fields["scan"])
	}
	if err != nil {
		return item, 0, err
	}
	qty, err = item.Measure.Parse(f.text(amount))
	if err != nil {
		return item, 0, fault.Field(amount, err.Error())
	}
	return item, qty, nil
}

func (a *App) putPartsLine(w http.ResponseWriter, r *http.Request) error {
	code := chi.URLParam(r, "code")
	return a.changePartsList(w, r, "put", func(ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
		model := f.number("model")
		if err := f.err(); err != nil {
			return err
		}
		item, qty, err := f.item(ctx, tx, "item", "qty")
		if err != nil {
			return err
		}
		return partslist.Put(ctx, tx, by, partslist.Line{Service: code, ModelID: model, ItemID: item.ID, Step: f.text("step"), Qty: qty, Must: f.ticked("must")})
	})
}

func (a *App) dropPartsLine(w http.ResponseWriter, r *http.Request) error {
	return a.changePartsList(w, r, "off", func(ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
		line := f.number("line")
		if err := f.err(); err != nil {
			return err
		}
		return partslist.Drop(ctx, tx, by, chi.URLParam(r, "code"), line)
	})
}

func (a *App) changePartsList(w http.ResponseWriter, r *http.Request, name string, do func(ctx context.Context, tx pgx.Tx, by history.By, f *form) error) error {
	code := chi.URLParam(r, "code")
	f, err := readForm(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, "parts list: "+name, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return partsListPath(code, name), do(ctx, tx, by, f)
	}, func(base templates.Base) (templ.Component, error) {
		return a.partsListPage(r.Context(), base, code)
	})
}
