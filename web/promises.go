package web

import (
	"context"
	"net/http"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/plan"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

// promises are those that cannot all be kept, and the fewest to move so that
// the others hold.
func (a *App) promises(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		if r.URL.Query().Get("done") == "moved" {
			base.Done = "The promise is moved. The customer gets a mail unless you have told them, or there is no address."
		}
		return a.promisesPage(r.Context(), base)
	})
}

func (a *App) promisesPage(ctx context.Context, base templates.Base) (templ.Component, error) {
	base.Title, base.Live = "Promises", "board"
	page := templates.PromisesPage{Base: base}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		settings, err := shop.Get(ctx, tx)
		if err != nil {
			return err
		}
		page.Phone = settings.Phone
		if page.Plan, err = plan.Read(ctx, tx, base.Now); err != nil {
			return err
		}
		if page.Rows, err = job.Board(ctx, tx, job.BoardFilter{}); err != nil {
			return err
		}
		page.Offers, err = offers(ctx, tx, base, page.Plan.Fewest())
		return err
	})
	return templates.Promises(page), err
}

// offers are the promises to move, each with a form of its own.
func offers(ctx context.Context, q db.Querier, base templates.Base, moves []plan.Move) (list []templates.MoveOffer, err error) {
	var ids []int64
	for _, m := range moves {
		ids = append(ids, m.VisitID)
	}
	reaches, err := job.Reaches(ctx, q, ids)
	if err != nil {
		return nil, err
	}
	for _, m := range moves {
		list = append(list, templates.MoveOffer{Move: m, Reach: reaches[m.VisitID], Form: base.Alone(uuid.NewString(), false)})
	}
	return list, nil
}

// standBack lifts the pins of a visit whose promise moves so that others hold:
// the fewest are reckoned with it behind all others.
func standBack(ctx context.Context, tx pgx.Tx, by history.By, visitID int64) error {
	pins, err := job.Pins(ctx, tx)
	if err != nil {
		return err
	}
	v, err := job.Visit(ctx, tx, visitID)
	if err != nil {
		return err
	}
	for _, j := range v.Jobs {
		if _, pinned := pins[j.ID]; !pinned {
			continue
		}
		if err := job.PinJob(ctx, tx, by, job.Pin{JobID: j.ID, Kind: job.Lifted, Reason: "its promise moved"}); err != nil {
			return err
		}
	}
	return nil
}
