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

// serviceChange is a way to change the services of a job: its page first says
// what that would change, and the form then changes it if that is still so.
type serviceChange struct {
	kind  string // of the act
	title string // of its page; the number of the job follows
	told  string // the field with the ids of the steps that the page named
	done  string // what the page of a job says afterwards
	// page says what the service of that code would change; nil for none yet.
	page   func(ctx context.Context, q db.Querier, by history.By, s bench.Sheet, code *string) (drawn, error)
	change func(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form, told []int64) error
}

// drawn is a page that waits for its base.
type drawn func(base templates.Base) templ.Component

// previewServices shows what the service named in the address would change,
// which changes nothing yet.
func (a *App) previewServices(w http.ResponseWriter, r *http.Request, c serviceChange) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	query := r.URL.Query()
	if !query.Has("service") {
		return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
			return a.servicePage(r, c, base, id, nil)
		})
	}
	base, err := a.base(r, "")
	if err != nil {
		return err
	}
	code := plain(query.Get("service"))
	page, err := a.servicePage(r, c, base, id, &code)
	if err == nil {
		return render(w, r, http.StatusOK, page)
	}
	return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) {
		base.Typed = query
		return a.servicePage(r, c, base, id, nil)
	})
}

func (a *App) servicePage(r *http.Request, c serviceChange, base templates.Base, id int64, code *string) (templ.Component, error) {
	who := history.By{Staff: base.Person.ID, Roles: base.Person.Roles}
	var page drawn
	err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
		sheet, err := bench.Get(r.Context(), tx, id)
		if err != nil {
			return err
		}
		base.Title = c.title + strconv.Itoa(sheet.Job.Number)
		page, err = c.page(r.Context(), tx, who, sheet, code)
		return err
	})
	if err != nil {
		return nil, err
	}
	return page(base), nil
}

// changeServices leads a mechanic to the sheet once work has started, and
// whoever else changes the job to it.
func (a *App) changeServices(w http.ResponseWriter, r *http.Request, c serviceChange) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	code, told := f.text("service"), f.ids(c.told)
	return a.take(w, r, f, c.kind, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		if err := c.change(ctx, tx, by, id, f, told); err != nil {
			return "", err
		}
		j, err := job.Get(ctx, tx, id)
		if j.StartedAt == nil {
			return "/jobs/" + strconv.FormatInt(id, 10) + "?done=" + c.done, err
		}
		return benchPath(id), err
	}, func(base templates.Base) (templ.Component, error) {
		if page, err := a.servicePage(r, c, base, id, &code); err == nil {
			return page, nil // what it changes now
		}
		return a.servicePage(r, c, base, id, nil)
	})
}
