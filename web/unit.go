package web

import (
	"context"
	"net/http"
	"net/url"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/reconcile"
	"damperdesk/internal/spec"
	"damperdesk/templates"
)

func (a *App) unitForm(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.unitFormPage(r.Context(), base, id, nil)
	})
}

func (a *App) unitFormPage(ctx context.Context, base templates.Base, id int64, clashes []reconcile.Clash) (templ.Component, error) {
	page := templates.UnitFormPage{Base: base, Clashes: clashes}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Unit, err = customer.GetUnit(ctx, tx, id); err != nil {
			return err
		}
		if page.Beside, err = customer.Beside(ctx, tx, page.Unit); err != nil {
			return err
		}
		page.Models, err = spec.Models(ctx, tx)
		return err
	})
	page.Title = "Correct " + page.Unit.Name
	return templates.UnitForm(page), err
}

// unitDetails is the form that corrects a unit. The model chosen, or else the own
// words, is one field.
var unitDetails = shared{
	fields: customer.UnitFields,
	typed: func(f *form, field string) string {
		if field == "model" {
			return customer.ModelFact(f.number("model"), f.text("words"))
		}
		return f.text(field)
	},
	fill: func(typed url.Values, to reconcile.Facts) {
		for name, text := range to {
			typed.Set(name, text)
		}
		model, words := customer.ModelOf(to["model"])
		typed.Set("model", strconv.FormatInt(model, 10))
		typed.Set("words", words)
	},
}

// changeUnit keeps what is known of a unit now.
func (a *App) changeUnit(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	e := customer.UnitEdit{SerialSure: f.ticked("serialsure"), Moved: f.text("moved") == "yes"}
	e.Was, e.Mine = unitDetails.read(f)
	if err = f.err(); err == nil {
		err = a.act(w, r, "unit", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			others, err := customer.ChangeUnit(ctx, tx, by, id, e)
			if err == nil {
				err = job.SetAsideOfUnit(ctx, tx, by, id)
			}
			return "/units/" + strconv.FormatInt(id, 10) + "?done=" + withOthers("unit", others), err
		})
	}
	if err == nil {
		return nil
	}
	return a.again(w, r, f, unitDetails, err, func(base templates.Base, clashes []reconcile.Clash) (templ.Component, error) {
		return a.unitFormPage(r.Context(), base, id, clashes)
	})
}
