package web

import (
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

// duePage is how many rows a page of the due list has.
const duePage = 100

func (a *App) due(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Due list")
	if err != nil {
		return err
	}
	asks := r.URL.Query()
	page := templates.DuePage{Base: base, State: interval.State(asks.Get("state")), Service: asks.Get("service"), Page: 1}
	if text := asks.Get("page"); text != "" {
		if page.Page, err = strconv.Atoi(text); err != nil || page.Page < 1 {
			return fault.NotFound("There is no such page.")
		}
	}
	var list due.Listing
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		list, err = due.List(r.Context(), tx, base.Now, page.Service)
		return err
	})
	if err != nil {
		return err
	}
	fillDue(&page, list)
	return render(w, r, http.StatusOK, templates.Due(page))
}

// fillDue counts the states and takes the rows that the page is of. A page
// beyond the last one is the last one.
func fillDue(p *templates.DuePage, list due.Listing) {
	p.Services, p.Empty = list.Services, len(list.Rows) == 0 && p.Service == ""
	p.Count = map[interval.State]int{}
	for _, r := range list.Rows {
		p.Count[r.State()]++
	}
	rows := list.Rows
	if p.State != "" {
		rows = slices.DeleteFunc(slices.Clone(rows), func(r due.Row) bool { return r.State() != p.State })
	}
	p.Pages = max((len(rows)+duePage-1)/duePage, 1)
	p.Page = min(p.Page, p.Pages)
	p.Rows = rows[(p.Page-1)*duePage : min(p.Page*duePage, len(rows))]
}
