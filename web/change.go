package web

import (
	"context"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/money"
	"damperdesk/internal/quantity"
	"damperdesk/internal/reconcile"
	"damperdesk/templates"
)

// changeForm has what the desk may change about a job and its visit.
func (a *App) changeForm(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.changePage(r.Context(), base, id, nil)
	})
}

// changePage shows the three of each clash, if there are any.
func (a *App) changePage(ctx context.Context, base templates.Base, id int64, clashes []reconcile.Clash) (templ.Component, error) {
	page := templates.ChangePage{Clashes: clashes}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Job, err = job.Get(ctx, tx, id); err != nil {
			return err
		}
		page.Visit, err = job.Visit(ctx, tx, page.Job.VisitID)
		return err
	})
	page.Facts = job.FactsOf(page.Job, page.Visit)
	base.Title = "Change " + strconv.Itoa(page.Job.Number) + " " + page.Job.Unit
	page.Base = base
	return templates.Change(page), err
}

// factsForm is that of a job and its visit.
var factsForm = shared{
	fields: job.FactFields,
	typed: func(f *form, field string) string {
		if field == "symptoms" {
			return job.SymptomText(f.list("symptoms"))
		}
		return f.text(field)
	},
	fill: func(typed url.Values, to reconcile.Facts) {
		for name, text := range to {
			typed.Set(name, text)
		}
		typed["symptoms"] = strings.Fields(to["symptoms"])
	},
}

func (a *App) change(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	current, err := job.Get(r.Context(), a.pool, id)
	if err != nil {
		return err
	}
	base, err := a.base(r, "")
	if err != nil {
		return err
	}
	e := f.edit(current.Currency, base.Prefs.Unit(quantity.KindMass))
	if err = f.err(); err == nil {
		err = a.act(w, r, "job changed", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			others, err := job.Change(ctx, tx, by, id, e)
			return "/jobs/" + strconv.FormatInt(id, 10) + "?done=" + withOthers("change", others), err
		})
	}
	if err == nil {
		return nil
	}
	return a.again(w, r, f, factsForm, err, func(base templates.Base, clashes []reconcile.Clash) (templ.Component, error) {
		return a.changePage(r.Context(), base, id, clashes)
	})
}

// edit reads the facts as they were opened and as they are to be.
func (f *form) edit(currency string, mass quantity.Unit) job.Edit {
	e := job.Edit{RiderSure: f.ticked("ridersure")}
	e.Was, e.Mine = factsForm.read(f)
	typed := &form{values: url.Values{"rider": {e.Mine["rider"]}, "limit": {e.Mine["limit"]}}, faults: f.faults}
	if e.Mine["rider"] != e.Was["rider"] {
		if v := typed.quantity("rider", quantity.KindMass, mass); v != nil {
			e.RiderKG = &v.SI
		}
	}
	if e.LimitMinor = typed.money("limit", currency); e.LimitMinor != nil {
		e.Mine["limit"] = money.Format(*e.LimitMinor, currency)
	}
	return e
}
