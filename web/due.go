package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

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
	asks := r.URL.Query()
	if asks.Has("view") {
		return dueView(w, r, asks)
	}
	base, err := a.base(r, "Due list")
	if err != nil {
		return err
	}
	if asks.Get("done") == "invited" {
		base.Done = invitedWords(asks.Get("mails"), asks.Get("rung"), asks.Get("before"))
	}
	page := templates.DuePage{Base: base, Ticked: asks["invite"], ByHand: asks.Get("ticked") == "yes"}
	if page.DueQuery, err = dueQuery(asks); err != nil {
		return err
	}
	if page.Most < 0 {
		page.Errors = map[string]string{"most": fmt.Sprintf("Type 1 to %d.", mostInvited)}
		page.Typed = asks
		page.Most = 0
	}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
		if page.Person.Has("owner") {
			past, err := due.LastBacktest(r.Context(), tx)
			if err != nil {
				return err
			}
			page.Past = &past
		}
		return fillDue(r.Context(), tx, &page)
	})
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, templates.Due(page))
}

// dueView leads from a page of the list to another part of it. Ticks that somebody
// changed go along; those that were proposed are proposed of that part anew.
func dueView(w http.ResponseWriter, r *http.Request, asks url.Values) error {
	to, err := url.ParseQuery(asks.Get("view"))
	if err != nil {
		return fault.NotFound("There is no such page.")
	}
	q, err := dueQuery(to)
	if err != nil {
		return err
	}
	to = q.Values()
	if asks.Get("ticked") == "yes" || templates.Seal(asks["invite"]) != asks.Get("seal") {
		to.Set("ticked", "yes")
		to["invite"] = asks["invite"]
	}
	http.Redirect(w, r, "/due?"+to.Encode(), http.StatusSeeOther)
	return nil
}

// dueQuery reads which part of the list is wanted. Most is below 0 where it is no
// number that can be.
func dueQuery(asks url.Values) (q templates.DueQuery, err error) {
	q = templates.DueQuery{State: interval.State(asks.Get("state")), Service: asks.Get("service"), Sort: due.Sort(asks.Get("sort")), Page: 1}
	if q.State != "" && !slices.Contains(due.States, q.State) {
		return q, fault.NotFound("The due list has no such state.")
	}
	if !slices.Contains(due.Sorts, q.Sort) {
		return q, fault.NotFound("The due list has no such order.")
	}
	if text := asks.Get("page"); text != "" {
		if q.Page, err = strconv.Atoi(text); err != nil || q.Page < 1 || q.Page > mostPages {
			return q, fault.NotFound("There is no such page.")
		}
	}
	if text := strings.TrimSpace(asks.Get("most")); text != "" {
		if q.Most, err = strconv.Atoi(text); err != nil || q.Most < 1 || q.Most > mostInvited {
			q.Most = -1
		}
	}
	return q, nil
}

// invitedWords is what the list says after inviting, by how many mails wait to be
// sent, how many customers are to be rung, and for how many services they were
// invited before.
func invitedWords(mails, rung, before string) string {
	m, _ := strconv.Atoi(mails)
	r, _ := strconv.Atoi(rung)
	b, _ := strconv.Atoi(before)
	var words []string
	switch {
	case m <= 0 && r <= 0:
		return "Nobody was invited: they all were before."
	case m <= 0:
		words = append(words, fmt.Sprintf("No mail goes out. Customers to ring: %d, under Messages.", r))
	case r <= 0:
		words = append(words, fmt.Sprintf("Invitations on their way: %d. See Messages for each.", m))
	default:
		words = append(words, fmt.Sprintf("Invitations on their way: %d. Customers to ring: %d, under Messages.", m, r))
	}
	if b > 0 {
		words = append(words, fmt.Sprintf("Invited before, and not again: %d.", b))
	}
	return strings.Join(words, " ")
}

// fillDue reads the rows that the page is of, with what is proposed. A page beyond
// the last one is the last one.
func fillDue(ctx context.Context, q db.Querier, p *templates.DuePage) error {
	ask := due.Ask{State: p.State, Service: p.Service, Sort: p.Sort, Ring: p.State == "", From: (p.Page - 1) * duePage, Rows: duePage}
	price, err := pricing(ctx, q)
	if err != nil {
		return err
	}
	if ask.Sort == due.MostWorth {
		if ask.Worth, err = price.list(ctx, q, p.Service); err != nil {
			return err
		}
	}
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
	p.Rows, p.Count, p.Services, p.Empty = list.Rows, list.Count, list.Services, list.Empty
	if p.Sort == due.MostDue {
		p.Rows = byCustomer(list.Rows)
	}
	if p.Empty {
		return nil
	}
	p.Worth = price.rows(p.Rows)
	return proposeInvites(ctx, q, p, ask)
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
