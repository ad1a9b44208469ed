package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/advice"
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

// advicePage goes by what was said by hand where it was, and else by what was
// reckoned last.
func (a *App) advicePage(ctx context.Context, base templates.Base) (templ.Component, error) {
	base.Title = "What to order"
	page := templates.AdvicePage{Base: base}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) error {
		levels, err := advice.Levels(ctx, tx)
		if err != nil {
			return err
		}
		wanted, err := wantedByJobs(ctx, tx)
		if err != nil {
			return err
		}
		list, more, err := order.Advice(ctx, tx, wanted, levels)
		if err != nil {
			return err
		}
		page.More = more
		var ids []int64
		for _, x := range list {
			ids = append(ids, x.ItemID)
			if x.SupplierID == 0 {
				page.Lone = append(page.Lone, x)
			} else {
				page.Items = append(page.Items, x)
			}
		}
		if page.Newest, page.Finished, err = advice.Last(ctx, tx); err != nil || len(ids) == 0 {
			return err
		}
		page.Reckoned, err = advice.Items(ctx, tx, ids...)
		return err
	})
	if page.Newest.Open() {
		page.Live = templates.LiveAdvice
	}
	return templates.Advice(page), err
}

// wantedByJobs is what open jobs wait for, by item.
func wantedByJobs(ctx context.Context, q db.Querier) (map[int64]order.Wanted, error) {
	list, err := partslist.WantedByJobs(ctx, q)
	wanted := map[int64]order.Wanted{}
	for _, w := range list {
		wanted[w.ItemID] = order.Wanted{Qty: w.Qty, Jobs: w.Jobs}
	}
	return wanted, err
}

// reckonAdvice has everything reckoned again, by a job of the background.
func (a *App) reckonAdvice(w http.ResponseWriter, r *http.Request) error {
	return a.act(w, r, "advice asked", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		run, fresh, err := advice.Ask(ctx, tx, by)
		if err == nil && fresh {
			err = a.Advise(ctx, tx, run)
		}
		return "/orders/advice", err
	})
}

// seasonAhead shows what the busiest weeks will take that begin within half a year.
func (a *App) seasonAhead(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (_ templ.Component, err error) {
		base.Title = "The season ahead"
		page := templates.SeasonPage{Base: base}
		err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
			if _, page.Finished, err = advice.Last(r.Context(), tx); err != nil {
				return err
			}
			page.Items, page.Plain, page.Sparse, err = advice.Seasons(r.Context(), tx, base.ShopDay().AddDate(0, 0, 26*7))
			return err
		})
		return templates.Season(page), err
	})
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
