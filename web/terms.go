package web

import (
	"context"
	"net/http"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

func (a *App) terms(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.termsPage(r.Context(), base)
	})
}

func (a *App) termsPage(ctx context.Context, base templates.Base) (templ.Component, error) {
	base.Title = "Terms"
	editions, err := shop.Editions(ctx, a.pool)
	return templates.Terms(templates.TermsPage{Base: base, Editions: editions}), err
}

func (a *App) setTerms(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	over := f.number("over")
	return a.take(w, r, f, "terms", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		_, err := shop.SetTerms(ctx, tx, by, over, f.text("words"))
		return "/shop?done=terms", err
	}, func(base templates.Base) (templ.Component, error) {
		return a.termsPage(r.Context(), base)
	})
}
