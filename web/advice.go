package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/order"
	"damperdesk/internal/partslist"
	"damperdesk/internal/stock"
	"damperdesk/templates"
)

func (a *App) advice(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.advicePage(r.Context(), base)
	})
}

// advicePage reckons with what was said by hand, and with what jobs wait for.
func (a *App) advicePage(ctx context.Context, base templates.Base) (templ.Component, error) {
	base.Title = "What to order"
	page := templates.AdvicePage{Base: base}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) error {
		wanted, err := wantedByJobs(ctx, tx)
		if err != nil {
			return err
		}
		list, more, err := order.Advice(ctx, tx, wanted, nil)
		page.More = more
		for _, x := range list {
			if x.SupplierID == 0 {
				page.Lone = append(page.Lone, x)
			} else {
				page.Items = append(page.Items, x)
			}
		}
		return err
	})
	return templates.Advice(page), err
}

func wantedByJobs(ctx context.Context, q db.Querier) (map[int64]order.Wanted, error) {
	list, err := partslist.WantedByJobs(ctx, q)
	wanted := map[int64]order.Wanted{}
	for _, w := range list {
		wanted[w.ItemID] = order.Wanted{Qty: w.Qty, Jobs: w.Jobs}
	}
	return wanted, err
}

// takeAdvice puts the chosen items on the drafts of their suppliers.
func (a *App) takeAdvice(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, "advice taken", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		drafts, to := map[int64]bool{}, ""
		if len(f.list("take")) == 0 {
			return "", fault.Conflict("Choose what is to be ordered.")
		}
		for _, id := range f.ids("take") {
			draft, err := f.takeAdvised(ctx, tx, by, id)
			if err != nil {
				return "", err
			}
			drafts[draft] = true
			to = orderPath(draft, "advised")
		}
		if len(drafts) > 1 {
			to = "/orders?done=advised"
		}
		return to, f.err()
	}, func(base templates.Base) (templ.Component, error) { return a.advicePage(r.Context(), base) })
}

// takeAdvised puts one item on its draft, unless something is wrong with it.
func (f *form) takeAdvised(ctx context.Context, tx pgx.Tx, by history.By, id int64) (draft int64, err error) {
	item, err := stock.Get(ctx, tx, id)
	if err != nil {
		return 0, err
	}
	field := fmt.Sprint(id, ".qty")
	qty := f.amountOrNone(field, item.Measure)
	if f.err() != nil {
		return 0, nil
	}
	draft, err = order.AddLine(ctx, tx, by, order.Wish{Item: id, Qty: qty})
	for _, name := range []string{"item", "supplier", "qty"} {
		err = renamed(err, name, field)
	}
	if errors.As(err, new(*fault.Invalid)) {
		f.with(err)
		return 0, nil
	}
	return draft, err
}
