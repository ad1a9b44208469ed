package web

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/goahead"
	"damperdesk/internal/job"
	"damperdesk/internal/message"
	"damperdesk/internal/plan"
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
	base, err := a.base(r, "Board")
	if err != nil {
		return err
	}
	base.Live = "board"
	query, err := boardQuery(r.URL.Query(), base)
	if err != nil {
		return err
	}
	page := templates.BoardPage{Base: base, Query: query}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
		if err := readBoard(r.Context(), tx, &page); err != nil {
			return err
		}
		page.Rows = slices.DeleteFunc(page.All, func(row job.BoardRow) bool {
			return !query.Keeps(row) || query.Trouble && !page.Plan.Trouble(row)
		})
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
			page.Broken = len(page.Plan.Broken())
			if page.Asks, err = goahead.Asks(r.Context(), tx); err != nil {
				return err
			}
			page.Outbox, err = message.Stand(r.Context(), tx)
		}
		return err
	})
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, templates.Board(page))
}

// readBoard reads every open job, what stands beside the filters, and when each
// will be ready.
func readBoard(ctx context.Context, q db.Querier, page *templates.BoardPage) (err error) {
	rows, err := job.Board(ctx, q, job.BoardFilter{})
	if err != nil {
		return err
	}
	if page.Plan = new(plan.Plan); len(rows) > 0 { // a shop that is not set up has no hours to plan with
		if page.Plan, err = plan.Read(ctx, q, page.Now); err != nil {
			return err
		}
	}
	page.Count = job.Tally(rows)
	for _, row := range rows {
		if page.Plan.Trouble(row) {
			page.Troubles++
		}
	}
	page.ByDay = templates.CountDays(page.Base, rows)
	page.All = rows
	return nil
}

// boardQuery reads the filters of the address: who is none or an id, stage that
// of a stage or hold, day one of templates.BoardDays, trouble anything, q words.
func boardQuery(v url.Values, b templates.Base) (templates.BoardQuery, error) {
	q := templates.BoardQuery{Trouble: v.Get("trouble") != "", Day: v.Get("day")}
	q.Stage, q.Words = v.Get("stage"), plain(v.Get("q"))
	if q.Stage != "" && !slices.Contains(job.OpenStages, q.Stage) && !slices.Contains(job.HoldKinds, q.Stage) {
		return q, fault.NotFound("The board has no such stage.")
	}
	if q.Day != "" {
		var known bool
		if q.From, q.To, known = b.BoardDay(q.Day); !known {
			return q, fault.NotFound("The board has no such day.")
		}
	}
	switch who := v.Get("who"); who {
	case "":
	case "none":
		q.Mechanic = new(int64)
	default:
		id, err := strconv.ParseInt(who, 10, 64)
		if err != nil || id < 1 {
			return q, fault.NotFound("Nobody on the board has that number.")
		}
		q.Mechanic = &id
	}
	return q, nil
}
