package web

import (
	"context"
	"fmt"
	"net/http"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/advice"
	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/quantity"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

func (a *App) shelf(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.shelfPage(r.Context(), base)
	})
}

func (a *App) shelfPage(ctx context.Context, base templates.Base) (templ.Component, error) {
	base.Title = "How full the shelf is"
	s, err := advice.GetSetting(ctx, a.pool)
	return templates.Shelf(templates.ShelfPage{Base: base, Setting: s}), err
}

func (a *App) setShelf(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	version := int(f.number("version"))
	return a.take(w, r, f, "shelf setting", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		settings, err := shop.Get(ctx, tx)
		if err != nil {
			return "", err
		}
		s := advice.Setting{ServiceA: f.percent("service_a"), ServiceB: f.percent("service_b"), ServiceC: f.percent("service_c"),
			HoldPercent: f.percent("hold"), Version: version}
		if minor := f.money("order", settings.Currency); minor != nil {
			s.OrderMinor = *minor
		} else {
			f.wrong("order", "Give what an order costs, above zero.")
		}
		if err := f.err(); err != nil {
			return "", err
		}
		return "/shop?done=shelf", advice.SetSetting(ctx, tx, by, s)
	}, func(base templates.Base) (templ.Component, error) { return a.shelfPage(r.Context(), base) })
}

// percent reads a number that has to be there.
func (f *form) percent(name string) float64 {
	v := f.decimal(name, quantity.ParseNumber)
	if v == nil {
		f.wrong(name, "Give a percentage.")
		return 0
	}
	return *v
}

func shelfStands(ctx context.Context, q db.Querier, _ templates.Base) (string, error) {
	s, err := advice.GetSetting(ctx, q)
	n := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	return fmt.Sprintf("nothing runs out in %s, %s and %s of 100 times, by class", n(s.ServiceA), n(s.ServiceB), n(s.ServiceC)), err
}
