package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/partslist"
	"damperdesk/internal/procedure"
	"damperdesk/internal/stock"
	"damperdesk/templates"
)

var jobPartsDone = map[string]string{
	"add": "It is on the list of this job.", "keep": "It is kept so.", "off": "It is off this job.",
	"use": "It is posted to the ledger.", "tray": "The tray is kept.",
}

func (a *App) jobParts(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = jobPartsDone[r.URL.Query().Get("done")]
		return a.jobPartsPage(r.Context(), base, id)
	})
}

func (a *App) jobPartsPage(ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
	page := templates.JobPartsPage{}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Job, page.Steps, err = jobSteps(ctx, tx, id); err != nil {
			return err
		}
		if page.Needs, err = partslist.OfJobs(ctx, tx, id); err != nil {
			return err
		}
		page.Moves, err = stock.OfJob(ctx, tx, id)
		return err
	})
	base.Title = "Parts of " + strconv.Itoa(page.Job.Number)
	base.Live = "job:" + strconv.FormatInt(id, 10)
	page.Base = base
	return templates.JobParts(page), err
}

// jobSteps reads a job with the steps of its services that take parts.
func jobSteps(ctx context.Context, q db.Querier, id int64) (j job.Job, steps []templates.PartStep, err error) {
	if j, err = job.Get(ctx, q, id); err != nil {
		return j, nil, err
	}
	services, err := procedure.Services(ctx, q)
	if err != nil {
		return j, nil, err
	}
	services = slices.DeleteFunc(services, func(s procedure.Service) bool { return !slices.Contains(j.Services, s.Code) })
	steps, err = partSteps(ctx, q, services)
	return j, steps, err
}

func (a *App) addJobPart(w http.ResponseWriter, r *http.Request) error {
	return a.changeJobParts(w, r, "add", func(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form) error {
		item, qty, err := f.item(ctx, tx, "item", "qty")
		if err != nil {
			return err
		}
		return job.NeedPart(ctx, tx, by, id, partslist.Want{ItemID: item.ID, Step: f.text("step"), Qty: qty, Must: f.ticked("must")})
	}, func(base templates.Base, id int64) (templ.Component, error) {
		return a.jobPartsPage(r.Context(), base, id)
	})
}

func (a *App) parkInTray(w http.ResponseWriter, r *http.Request) error {
	return a.changeJobParts(w, r, "tray", func(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form) error {
		return job.PutInTray(ctx, tx, by, id, f.text("tray"))
	}, func(base templates.Base, id int64) (templ.Component, error) {
		return a.jobPartsPage(r.Context(), base, id)
	})
}

func (a *App) need(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	need, err := a.id(r, "need")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.needPage(r.Context(), base, id, need)
	})
}

func (a *App) needPage(ctx context.Context, base templates.Base, id, need int64) (templ.Component, error) {
	page := templates.NeedPage{}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Job, page.Steps, err = jobSteps(ctx, tx, id); err != nil {
			return err
		}
		needs, err := partslist.OfJobs(ctx, tx, id)
		at := slices.IndexFunc(needs, func(n partslist.Need) bool { return n.ID == need })
		if err != nil {
			return err
		}
		if at < 0 {
			return db.NotThere("part of this job")
		}
		page.Need = needs[at]
		return nil
	})
	base.Title = page.Need.Item + " on " + strconv.Itoa(page.Job.Number)
	page.Base = base
	return templates.Need(page), err
}

// changeNeed makes the handler of a press on one need of a job.
func changeNeed(name string, do func(ctx context.Context, tx pgx.Tx, by history.By, c partslist.Change, f *form) error) handler {
	return func(a *App, w http.ResponseWriter, r *http.Request) error {
		need, err := a.id(r, "need")
		if err != nil {
			return err
		}
		return a.changeJobParts(w, r, name, func(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form) error {
			c := partslist.Change{Job: id, Need: need, Version: int(f.number("version"))}
			if err := f.err(); err != nil {
				return err
			}
			if name == "use" {
				return job.UseParts(ctx, tx, by, id, func() error { return do(ctx, tx, by, c, f) })
			}
			return job.ChangeNeeds(ctx, tx, by, id, func() error { return do(ctx, tx, by, c, f) })
		}, func(base templates.Base, id int64) (templ.Component, error) {
			if name == "use" {
				return a.jobPartsPage(r.Context(), base, id)
			}
			return a.needPage(r.Context(), base, id, need)
		})
	}
}

func keepNeed(ctx context.Context, tx pgx.Tx, by history.By, c partslist.Change, f *form) error {
	item, qty, err := f.item(ctx, tx, "item", "qty")
	if err != nil {
		return err
	}
	c.Choice, c.Condition, c.Item, c.Qty = f.text("choice"), f.text("condition"), item.ID, qty
	return partslist.Keep(ctx, tx, by, c)
}

func dropNeed(ctx context.Context, tx pgx.Tx, by history.By, c partslist.Change, _ *form) error {
	return partslist.Remove(ctx, tx, by, c.Job, c.Need, c.Version)
}

func useNeed(ctx context.Context, tx pgx.Tx, by history.By, c partslist.Change, _ *form) error {
	return partslist.UseNow(ctx, tx, by, c.Job, c.Need, c.Version)
}

func (a *App) changeJobParts(w http.ResponseWriter, r *http.Request, name string,
	do func(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form) error, again func(base templates.Base, id int64) (templ.Component, error)) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, "job part: "+name, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return "/jobs/" + strconv.FormatInt(id, 10) + "/parts?done=" + name, do(ctx, tx, by, id, f)
	}, func(base templates.Base) (templ.Component, error) { return again(base, id) })
}
