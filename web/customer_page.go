package web

import (
	"net/http"

	"github.com/go-chi/chi/v5"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/link"
	"damperdesk/internal/summary"
	"damperdesk/templates"
)

// customerPage is the page behind a customer's link. Looking changes nothing,
// and no search engine keeps it.
func (a *App) customerPage(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "")
	if err != nil {
		return err
	}
	page := templates.CustomerPage{Base: base, Token: chi.URLParam(r, "token")}
	page.Person = templates.Person{}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
		visit, err := link.Open(r.Context(), tx, page.Token, base.Now)
		if err != nil {
			return err
		}
		page.Summary, err = summary.Visit(r.Context(), tx, visit, base.Now)
		return err
	})
	if err != nil {
		return err
	}
	w.Header().Set("X-Robots-Tag", "noindex, nofollow")
	return render(w, r, http.StatusOK, templates.Customer(page))
}
