package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/templates"
)

// addServiceForm shows what the service named in the address would change,
// which changes nothing yet.
func (a *App) addServiceForm(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	base, err := a.base(r, "")
	if err != nil {
		return err
	}
	query := r.URL.Query()
	if !query.Has("service") {
		page, err := a.addServicePage(r, base, id, nil)
		if err != nil {
			return err
		}
		return render(w, r, http.StatusOK, page)
	}
	code := plain(query.Get("service"))
	page, err := a.addServicePage(r, base, id, &code)
	if err == nil {
		return render(w, r, http.StatusOK, page)
	}
	return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) {
		base.Typed = query
		return a.addServicePage(r, base, id, nil)
	})
}

// addServicePage plans the service of that code, nil for none yet.
func (a *App) addServicePage(r *http.Request, base templates.Base, id int64, code *string) (templ.Component, error) {
	page := templates.AddServicePage{}
	who := history.By{Staff: base.Person.ID, Roles: base.Person.Roles}
	err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		if page.Sheet, err = bench.Get(r.Context(), tx, id); err != nil {
			return err
		}
		if page.Offers, err = offersFor(r.Context(), tx, page.Sheet.Job); err != nil || code == nil {
			return err
		}
		page.Chosen = *code
		page.Adds, err = bench.Preview(r.Context(), tx, who, page.Sheet, *code)
		return err
	})
	if err != nil {
		return nil, err
	}
	base.Title = "Add a service to " + strconv.Itoa(page.Sheet.Job.Number)
	page.Base = base
	return templates.AddServiceForm(page), nil
}

// offersFor lists the services for the job's unit that it has not.
func offersFor(ctx context.Context, q db.Querier, j job.Job) ([]procedure.Service, error) {
	all, err := procedure.Services(ctx, q)
	return slices.DeleteFunc(all, func(s procedure.Service) bool {
		return !s.For(j.Kind) || !s.Suits(j.Spring) || slices.Contains(j.Services, s.Code)
	}), err
}

// addService leads a mechanic to the sheet, whoever else adds to the job.
func (a *App) addService(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	code, told := f.text("service"), f.ids("undoes")
	return a.take(w, r, f, "service added", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		if err := bench.AddService(ctx, tx, by, id, code, told); err != nil {
			return "", err
		}
		sheet, err := bench.Get(ctx, tx, id)
		if len(sheet.Steps) == 0 {
			return "/jobs/" + strconv.FormatInt(id, 10) + "?done=service", err
		}
		return benchPath(id), err
	}, func(base templates.Base) (templ.Component, error) {
		if page, err := a.addServicePage(r, base, id, &code); err == nil {
			return page, nil // what it changes now
		}
		return a.addServicePage(r, base, id, nil)
	})
}
