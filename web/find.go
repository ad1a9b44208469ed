package web

import (
	"context"
	"errors"
	"net/http"
	"strconv"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/job"
	"damperdesk/templates"
)

const (
	foundAtMost = 30
	findLongest = 200 // bytes of what is looked for
)

// find looks for a ticket and for customers. A ticket number that fits nobody
// but its own customer leads straight to the job.
func (a *App) find(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Find")
	if err != nil {
		return err
	}
	page := templates.FindPage{Base: base, Text: plain(r.URL.Query().Get("q"))}
	if page.Text != "" && len(page.Text) <= findLongest {
		err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
			if page.Ticket, err = ticket(r.Context(), tx, page.Text); err != nil {
				return err
			}
			page.Customers, err = customer.Find(r.Context(), tx, page.Text, foundAtMost)
			return err
		})
	}
	if err != nil {
		return err
	}
	if page.Ticket != nil && onlyOf(page.Customers, page.Ticket.CustomerID) {
		http.Redirect(w, r, "/jobs/"+strconv.FormatInt(page.Ticket.ID, 10), http.StatusSeeOther)
		return nil
	}
	return render(w, r, http.StatusOK, templates.Find(page))
}

// ticket is the job whose number was typed; nil for any other text.
func ticket(ctx context.Context, q db.Querier, text string) (*job.Job, error) {
	number, err := strconv.ParseInt(text, 10, 32)
	if err != nil {
		return nil, nil
	}
	j, err := job.ByNumber(ctx, q, int(number))
	var none fault.NotFound
	if errors.As(err, &none) {
		return nil, nil
	}
	return &j, err
}

func onlyOf(found []customer.Found, id int64) bool {
	for _, c := range found {
		if c.ID != id {
			return false
		}
	}
	return true
}
