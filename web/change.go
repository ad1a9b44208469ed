package web

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/money"
	"damperdesk/internal/quantity"
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
func (a *App) changePage(ctx context.Context, base templates.Base, id int64, clashes []job.Clash) (templ.Component, error) {
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

// change keeps what was typed. Where somebody else changed a field meanwhile,
// the form comes back with what was there, theirs and what was typed.
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
			to := "/jobs/" + strconv.FormatInt(id, 10) + "?done=change"
			if len(others) > 0 {
				to += "-both"
			}
			return to, err
		})
	}
	var differ job.Differ
	switch {
	case err == nil:
		return nil
	case errors.As(err, &differ):
		base.Typed = clashed(r.PostForm, differ)
		base.Problem = "Somebody else changed the same while you had this open. Nothing is kept yet: choose which stands."
		page, err := a.changePage(r.Context(), base, id, differ.Clashes)
		if err != nil {
			return err
		}
		return render(w, r, http.StatusConflict, page)
	}
	return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) {
		return a.changePage(r.Context(), base, id, f.openClashes(e))
	})
}

// edit reads the facts as they were opened and as they are to be.
func (f *form) edit(currency string, mass quantity.Unit) job.Edit {
	e := job.Edit{Was: job.Facts{}, Mine: job.Facts{}, RiderSure: f.ticked("ridersure")}
	for _, name := range job.FactFields {
		e.Was[name], e.Mine[name] = f.text("was."+name), f.text(name)
	}
	e.Mine["symptoms"] = job.SymptomText(f.list("symptoms"))
	for _, name := range strings.Fields(f.text("clashes")) {
		if !slices.Contains(job.FactFields, name) {
			continue
		}
		switch f.text("pick." + name) {
		case "mine":
		case "theirs":
			e.Mine[name] = e.Was[name]
		case "was":
			e.Mine[name] = f.text("old." + name)
		default:
			f.wrong("pick."+name, "Choose which of the three stands.")
		}
	}
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

// openClashes are those of a form that has come back and of which one is still
// to be chosen.
func (f *form) openClashes(e job.Edit) (list []job.Clash) {
	for _, name := range strings.Fields(f.text("clashes")) {
		if slices.Contains(job.FactFields, name) {
			mine := f.text(name)
			if name == "symptoms" {
				mine = job.SymptomText(f.list(name))
			}
			list = append(list, job.Clash{Field: name, Was: f.text("old." + name), Theirs: e.Was[name], Mine: mine})
		}
	}
	return list
}

// clashed is the form as it comes back: with what others changed beside, and
// what stands now as that which it was opened at.
func clashed(sent url.Values, d job.Differ) url.Values {
	typed := url.Values{}
	for name, values := range sent {
		if !strings.HasPrefix(name, "pick.") && !strings.HasPrefix(name, "old.") {
			typed[name] = values
		}
	}
	var names []string
	for _, c := range d.Clashes {
		names = append(names, c.Field)
		typed.Set("old."+c.Field, c.Was)
	}
	for _, name := range job.FactFields {
		typed.Set("was."+name, d.Now[name])
		typed.Set(name, d.Merged[name])
	}
	typed["symptoms"] = strings.Fields(d.Merged["symptoms"])
	typed.Set("clashes", strings.Join(names, " "))
	return typed
}
