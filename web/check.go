package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/staff"
	"damperdesk/templates"
)

// benchChecks is where a second person looks at what was done: each item by
// itself, on a tablet under their own PIN while the first stays signed in.
func (a *App) benchChecks(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "job")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.checksPage(r.Context(), base, id)
	})
}

func (a *App) checksPage(ctx context.Context, base templates.Base, jobID int64) (templ.Component, error) {
	sheet, err := bench.Get(ctx, a.pool, jobID)
	if err != nil {
		return nil, err
	}
	base.Title = "Second check, " + strconv.Itoa(sheet.Job.Number)
	people, err := a.atWork(ctx)
	people = slices.DeleteFunc(people, func(p staff.Person) bool { return !p.Has(mechanic) })
	return templates.Checks(templates.ChecksPage{Base: base, Sheet: sheet, Steps: sheet.Unchecked(), Mechanics: people}), err
}

func (a *App) signChecks(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "job")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	c := bench.Checking{Steps: f.ids("check"), Alone: f.ticked("alone"), Reason: f.text("reason")}
	err = a.signChecksAs(w, r, f, id, c)
	if err == nil {
		return nil
	}
	return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) {
		return a.checksPage(r.Context(), base, id)
	})
}

// signChecksAs stores the checks as whoever proves to have looked. The act
// stays that of the person who is signed in.
func (a *App) signChecksAs(w http.ResponseWriter, r *http.Request, f *form, jobID int64, c bench.Checking) error {
	if len(c.Steps) == 0 { // said before a PIN is looked at
		return fault.Conflict("Nothing is ticked yet: tick each item that was looked at.")
	}
	checker, err := a.checker(r, f)
	if err != nil {
		return err
	}
	base, err := a.base(r, "")
	if err != nil {
		return err
	}
	return a.act(w, r, "second check", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		by.Staff, by.Roles = checker.ID, checker.Roles
		if err := bench.Check(ctx, tx, by, base.Prefs.Zone, jobID, c); err != nil {
			return "", err
		}
		sheet, err := bench.Get(ctx, tx, jobID)
		next, _ := sheet.Next()
		return pathTo(sheet, next), err
	})
}

// checker is on a tablet whoever is chosen and gives their PIN, else whoever is
// signed in. A form whose act is done needs no PIN again.
func (a *App) checker(r *http.Request, f *form) (staff.Person, error) {
	device := tablet(r).ID
	if device == 0 {
		return person(r), nil
	}
	if done, err := a.isDone(r); done || err != nil {
		return staff.Person{}, err
	}
	who, err := staff.Get(r.Context(), a.pool, f.number("who"))
	if err != nil || !who.Has(mechanic) {
		return staff.Person{}, fault.Field("who", "Choose the mechanic who looked.")
	}
	return staff.CheckPIN(r.Context(), a.pool, device, who.ID, f.values.Get("pin"), r.RemoteAddr, a.Now())
}
