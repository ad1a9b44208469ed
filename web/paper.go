package web

import (
	"context"
	"net/http"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/bill"
	"damperdesk/internal/db"
	"damperdesk/internal/job"
	"damperdesk/internal/link"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

// printTicket is the paper that hangs at one unit.
func (a *App) printTicket(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.papers(w, r, func(ctx context.Context, tx pgx.Tx) (job.VisitWithJobs, int64, error) {
		j, err := job.Get(ctx, tx, id)
		if err != nil {
			return job.VisitWithJobs{}, 0, err
		}
		v, err := job.Visit(ctx, tx, j.VisitID)
		return v, id, err
	})
}

// printTickets is the papers of all units of a visit.
func (a *App) printTickets(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.papers(w, r, func(ctx context.Context, tx pgx.Tx) (job.VisitWithJobs, int64, error) {
		v, err := job.Visit(ctx, tx, id)
		return v, 0, err
	})
}

// papers prints a ticket and a label for each job of the visit that read finds,
// or for the one it names.
func (a *App) papers(w http.ResponseWriter, r *http.Request, read func(context.Context, pgx.Tx) (v job.VisitWithJobs, only int64, err error)) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		var (
			visit job.VisitWithJobs
			only  int64
			shown shop.Settings
		)
		err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
			if visit, only, err = read(r.Context(), tx); err != nil {
				return err
			}
			shown, err = shop.Get(r.Context(), tx)
			return err
		})
		if err != nil {
			return nil, err
		}
		base.Title = "Tickets of visit " + strconv.FormatInt(visit.ID, 10)
		page := templates.TicketsPage{VisitID: visit.ID, Only: r.URL.Query().Get("only")}
		for _, j := range visit.Jobs {
			number := strconv.Itoa(j.Number)
			if only == j.ID {
				base.Title = "Ticket " + number
			}
			if only == 0 || only == j.ID {
				page.Tickets = append(page.Tickets, templates.TicketPage{Base: base, Job: j, Visit: visit, Desk: shown, Address: a.address(r, ticketPath(number))})
			}
		}
		page.Base = base
		return templates.Tickets(page), nil
	})
}

// printTag is what hangs at a unit that goes back by post without its air.
func (a *App) printTag(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		page := templates.TagPage{}
		err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
			if page.Job, err = job.Get(r.Context(), tx, id); err != nil {
				return err
			}
			if page.Desk, err = shop.Get(r.Context(), tx); err != nil {
				return err
			}
			sheet, err := bench.Get(r.Context(), tx, id)
			page.PressurePa, _ = sheet.PressureBack()
			return err
		})
		base.Title = "Tag of " + strconv.Itoa(page.Job.Number)
		page.Base = base
		return templates.Tag(page), err
	})
}

func ticketPath(number string) string { return "/tickets/" + number }

// printReceipt is what the customer takes home.
func (a *App) printReceipt(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		page := templates.ReceiptPage{}
		err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
			if page.Visit, err = job.Visit(r.Context(), tx, id); err != nil {
				return err
			}
			if page.Desk, err = shop.Get(r.Context(), tx); err != nil {
				return err
			}
			if page.Estimate, err = bill.Told(r.Context(), tx, id); err != nil {
				return err
			}
			token, ok, err := link.Show(r.Context(), tx, a.LinkKey, id, base.Now)
			if ok {
				page.Link = a.address(r, "/c/"+token)
			}
			return err
		})
		base.Title = "Receipt of visit " + strconv.FormatInt(id, 10)
		page.Base = base
		return templates.Receipt(page), err
	})
}
