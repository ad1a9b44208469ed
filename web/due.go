package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/due"
	"damperdesk/internal/fault"
	"damperdesk/internal/interval"
	"damperdesk/templates"
)

const (
	// duePage is how many rows a page of the due list has.
	duePage = 100
	// mostPages is more than any shop has.
	mostPages = 1_000_000
)

func (a *App) due(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Due list")
	if err != nil {
		return err
	}
	asks := r.URL.Query()
	if asks.Get("done") == "invited" {
		base.Done = invitedWords(asks.Get("mails"), asks.Get("rung"))
	}
	page := templates.DuePage{Base: base, State: interval.State(asks.Get("state")), Service: asks.Get("service"), Page: 1}
	if text := asks.Get("page"); text != "" {
		if page.Page, err = strconv.Atoi(text); err != nil || page.Page < 1 || page.Page > mostPages {
			return fault.NotFound("There is no such page.")
		}
	}
	if text := asks.Get("most"); text != "" {
		if page.Most, err = strconv.Atoi(text); err != nil || page.Most < 0 || page.Most > mostInvited {
			page.Errors = map[string]string{"most": fmt.Sprintf("Type 1 to %d.", mostInvited)}
			page.Typed = asks
			page.Most = 0
		}
	}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
		if page.Person.Has("owner") {
			past, err := due.LastBacktest(r.Context(), tx)
			if err != nil {
				return err
			}
			page.Past = &past
		}
		if err := fillDue(r.Context(), tx, &page); err != nil || page.Empty {
			return err
		}
		return a.proposeInvites(r.Context(), tx, &page)
	})
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, templates.Due(page))
}

// invitedWords is what the list says after inviting, by how many mails wait to be
// sent and how many customers are to be rung.
func invitedWords(mails, rung string) string {
	m, _ := strconv.Atoi(mails)
	r, _ := strconv.Atoi(rung)
	switch {
	case m <= 0 && r <= 0:
		return "Nobody was invited: they all were before."
	case m <= 0:
		return fmt.Sprintf("No mail goes out. Customers to ring: %d, under Messages.", r)
	case r <= 0:
		return fmt.Sprintf("Invitations on their way: %d. See Messages for each.", m)
	}
	return fmt.Sprintf("Invitations on their way: %d. Customers to ring: %d, under Messages.", m, r)
}

// fillDue reads the rows that the page is of. A page beyond the last one is the
// last one.
func fillDue(ctx context.Context, q db.Querier, p *templates.DuePage) error {
	ask := due.Ask{State: p.State, Service: p.Service, Ring: p.State == "", From: (p.Page - 1) * duePage, Rows: duePage}
	list, err := due.List(ctx, q, p.Now, ask)
	if err != nil {
		return err
	}
	rows := list.Count[p.State]
	if p.State == "" {
		for _, state := range interval.States {
			rows += list.Count[state]
		}
	}
	p.Pages = max((rows+duePage-1)/duePage, 1)
	if p.Page > p.Pages {
		p.Page = p.Pages
		return fillDue(ctx, q, p)
	}
	p.Rows, p.Count, p.Services, p.Empty = byCustomer(list.Rows), list.Count, list.Services, list.Empty
	return nil
}

// byCustomer puts what is due of one customer together, where the first of it
// stands.
func byCustomer(rows []due.Row) []due.Row {
	first := map[int64]int{}
	for i, r := range rows {
		if _, ok := first[r.CustomerID]; !ok {
			first[r.CustomerID] = i
		}
	}
	slices.SortStableFunc(rows, func(a, b due.Row) int { return first[a.CustomerID] - first[b.CustomerID] })
	return rows
}
