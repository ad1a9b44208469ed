package web

import (
	"context"
	"net/http"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/templates"
)

// takeOffForm shows what taking off the service named in the address would
// change, which changes nothing yet.
func (a *App) takeOffForm(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	query := r.URL.Query()
	if !query.Has("service") {
		return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
			return a.takeOffPage(r, base, id, nil)
		})
	}
	base, err := a.base(r, "")
	if err != nil {
		return err
	}
	code := plain(query.Get("service"))
	page, err := a.takeOffPage(r, base, id, &code)
	if err == nil {
		return render(w, r, http.StatusOK, page)
	}
	return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) {
		base.Typed = query
		return a.takeOffPage(r, base, id, nil)
	})
}

// takeOffPage plans the service of that code, nil for none yet.
func (a *App) takeOffPage(r *http.Request, base templates.Base, id int64, code *string) (templ.Component, error) {
	page := templates.TakeOffPage{}
	who := history.By{Staff: base.Person.ID, Roles: base.Person.Roles}
	err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		if page.Sheet, err = bench.Get(r.Context(), tx, id); err != nil || code == nil {
			return err
		}
		page.Chosen = *code
		page.Goes, err = bench.PreviewTakeOff(r.Context(), tx, who, page.Sheet, *code)
		return err
	})
	if err != nil {
		return nil, err
	}
	base.Title = "Take a service off " + strconv.Itoa(page.Sheet.Job.Number)
	page.Base = base
	return templates.TakeOff(page), nil
}

// takeOff leads a mechanic to the sheet, whoever else changes the job to it.
func (a *App) takeOff(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	code, told := f.text("service"), f.ids("goes")
	return a.take(w, r, f, "service taken off", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		if err := bench.TakeOffService(ctx, tx, by, id, code, f.text("reason"), told); err != nil {
			return "", err
		}
		j, err := job.Get(ctx, tx, id)
		if j.StartedAt == nil {
			return "/jobs/" + strconv.FormatInt(id, 10) + "?done=service-off", err
		}
		return benchPath(id), err
	}, func(base templates.Base) (templ.Component, error) {
		if page, err := a.takeOffPage(r, base, id, &code); err == nil {
			return page, nil // what it changes now
		}
		return a.takeOffPage(r, base, id, nil)
	})
}
