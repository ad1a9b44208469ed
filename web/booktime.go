package web

import (
	"context"
	"errors"
	"net/http"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/spec"
	"damperdesk/templates"
)

// timesDone is what the page of book times says after each of its forms.
var timesDone = map[string]string{
	"times": "The book times are saved.",
	"model": "The time for that model is saved.",
}

func (a *App) bookTimes(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = timesDone[r.URL.Query().Get("done")]
		return a.timesPage(r.Context(), base, "")
	})
}

// timesPage shows what was typed in the form that was sent, if any.
func (a *App) timesPage(ctx context.Context, base templates.Base, sent string) (templ.Component, error) {
	base.Title = "Book times"
	form := func(name string) templates.Base { return base.Alone(uuid.NewString(), sent == name) }
	page := templates.TimesPage{Base: base, List: form("times"), Model: form("model")}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Services, err = procedure.Services(ctx, tx); err != nil {
			return err
		}
		if page.Models, err = spec.Models(ctx, tx); err != nil {
			return err
		}
		page.Times, err = job.Minutes(ctx, tx)
		return err
	})
	return templates.BookTimes(page), err
}

// changeTimes is the handler of the form of the page called name.
func changeTimes(name string, do func(ctx context.Context, tx pgx.Tx, by history.By, f *form) error) handler {
	return func(a *App, w http.ResponseWriter, r *http.Request) error {
		f, err := readForm(r)
		if err != nil {
			return err
		}
		return a.take(w, r, f, "book times: "+name, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			return "/services/times?done=" + name, do(ctx, tx, by, f)
		}, func(base templates.Base) (templ.Component, error) {
			return a.timesPage(r.Context(), base, name)
		})
	}
}

// setTimes reads the minutes of each service that the form asked for.
func setTimes(ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
	services, err := procedure.Services(ctx, tx)
	if err != nil {
		return err
	}
	var changes []job.BookChange
	for _, s := range append(services, procedure.Service{Code: job.Refit}) {
		if f.values.Has("was." + s.Code) {
			changes = append(changes, f.bookChange(s.Code, 0, job.BookField(s.Code)))
		}
	}
	if err := f.err(); err != nil {
		return err
	}
	return job.SetBookTimes(ctx, tx, by, changes)
}

// bookChange reads minutes from a field; an empty one is 0, which is none of
// its own, and a typed 0 is refused.
func (f *form) bookChange(code string, model int64, field string) job.BookChange {
	c := job.BookChange{Was: int(f.number("was." + code))}
	c.BookTime = job.BookTime{Service: code, ModelID: model, Minutes: int(f.number(field))}
	if f.text(field) != "" && c.Minutes == 0 {
		f.wrong(field, "Type minutes, or leave it empty.")
	}
	return c
}

// serviceAndModel finds what is wrong with the fields service and model.
func (f *form) serviceAndModel(ctx context.Context, q db.Querier) error {
	services, err := procedure.Services(ctx, q)
	if err != nil {
		return err
	}
	if _, known := procedure.ByCode(services, f.text("service")); !known {
		f.wrong("service", "Choose a service from the list.")
	}
	_, err = spec.GetModel(ctx, q, f.number("model"))
	if errors.As(err, new(fault.NotFound)) {
		f.wrong("model", "Choose a model from the library.")
		return nil
	}
	return err
}

// setModelTime sets the minutes of one service on one model.
func setModelTime(ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
	if err := f.serviceAndModel(ctx, tx); err != nil {
		return err
	}
	code, model := f.text("service"), f.number("model")
	times, err := job.Minutes(ctx, tx)
	if err != nil {
		return err
	}
	c := f.bookChange(code, model, "minutes")
	if says := c.Fault(); says != "" {
		f.wrong("minutes", says)
	}
	if err := f.err(); err != nil {
		return err
	}
	c.Was = times.Set(code, model)
	return job.SetBookTimes(ctx, tx, by, []job.BookChange{c})
}
