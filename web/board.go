package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/goahead"
	"damperdesk/internal/job"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

// home leads to where somebody's work is; the owner of a shop without a ticket
// yet to what it needs for one.
func (a *App) home(w http.ResponseWriter, r *http.Request) error {
	to := "/board"
	if roles := person(r).Roles; len(roles) == 1 && roles[0] == mechanic {
		to = "/bench"
	} else if slices.Contains(roles, owner) {
		some, err := job.Any(r.Context(), a.pool)
		if err != nil {
			return err
		}
		if !some {
			to = "/shop"
		}
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

func (a *App) board(w http.ResponseWriter, r *http.Request) error {
	filter, err := boardFilter(r.URL.Query().Get("who"), r.URL.Query().Get("stage"))
	if err != nil {
		return err
	}
	base, err := a.base(r, "Board")
	if err != nil {
		return err
	}
	base.Live = "board"
	page := templates.BoardPage{Base: base, Filter: filter}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
		rows, err := job.Board(r.Context(), tx, job.BoardFilter{})
		if err != nil {
			return err
		}
		page.Count = job.Tally(rows)
		page.Rows = slices.DeleteFunc(rows, func(row job.BoardRow) bool { return !filter.Keeps(row) })
		hours, err := shop.GetHours(r.Context(), tx)
		if err != nil {
			return err
		}
		page.OpenFrom, page.OpenTo, _ = hours.Calendar(base.Prefs.Zone).Next(base.Now)
		if base.Person.Has(owner) {
			if page.Mishaps, err = bench.Mishaps(r.Context(), tx); err != nil {
				return err
			}
		}
		if base.Person.Has(desk, owner) {
			if page.Asks, err = goahead.Asks(r.Context(), tx); err != nil {
				return err
			}
		}
		page.NextSteps, err = nextSteps(r.Context(), tx, page.Rows)
		return err
	})
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, templates.Board(page))
}

// nextSteps are the titles of the steps that sheets in work go on at, by job.
func nextSteps(ctx context.Context, q db.Querier, rows []job.BoardRow) (map[int64]string, error) {
	titles := map[int64]string{}
	for _, row := range rows {
		if row.Steps == 0 || row.Stage == job.Ready || len(row.Holds) > 0 {
			continue
		}
		sheet, err := bench.Get(ctx, q, row.ID)
		if err != nil {
			return nil, err
		}
		if step, _ := sheet.Next(); step != nil {
			titles[row.ID] = step.Title
		}
	}
	return titles, nil
}

// boardFilter reads who=none or an id, and the name of a stage or hold.
func boardFilter(who, stage string) (job.BoardFilter, error) {
	f := job.BoardFilter{Stage: stage}
	if stage != "" && !slices.Contains(job.OpenStages, stage) && !slices.Contains(job.HoldKinds, stage) {
		return f, fault.NotFound("The board has no such stage.")
	}
	switch who {
	case "":
	case "none":
		f.Mechanic = new(int64)
	default:
		id, err := strconv.ParseInt(who, 10, 64)
		if err != nil || id < 1 {
			return f, fault.NotFound("Nobody on the board has that number.")
		}
		f.Mechanic = &id
	}
	return f, nil
}
