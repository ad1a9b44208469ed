package web

import (
	"context"
	"net/http"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

// belowZero is where the owner says whether the ledger of parts may go below zero.
func (a *App) belowZero(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.belowZeroPage(r.Context(), base)
	})
}

func (a *App) belowZeroPage(ctx context.Context, base templates.Base) (templ.Component, error) {
	base.Title = "Parts below zero"
	s, err := shop.Get(ctx, a.pool)
	return templates.BelowZero(templates.BelowZeroPage{Base: base, May: s.StockBelowZero, Version: s.Version}), err
}

func (a *App) setBelowZero(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	may, version := f.text("may"), int(f.number("version"))
	if may != "yes" && may != "no" {
		f.wrong("may", "Choose one of the two.")
	}
	return a.take(w, r, f, "below zero", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return "/shop?done=below", shop.SetStockBelowZero(ctx, tx, by, version, may == "yes")
	}, func(base templates.Base) (templ.Component, error) {
		return a.belowZeroPage(r.Context(), base)
	})
}

func belowZeroStands(ctx context.Context, q db.Querier, _ templates.Base) (string, error) {
	s, err := shop.Get(ctx, q)
	if s.StockBelowZero {
		return "used all the same, then one to count", err
	}
	return "refused", err
}
