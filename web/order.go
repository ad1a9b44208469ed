package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/order"
	"damperdesk/internal/partslist"
	"damperdesk/internal/shop"
	"damperdesk/internal/stock"
	"damperdesk/templates"
)

func (a *App) orders(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.ordersPage(r, base)
	})
}

func (a *App) ordersPage(r *http.Request, base templates.Base) (templ.Component, error) {
	base.Title = "Orders"
	base.Done = orderDone[r.URL.Query().Get("done")]
	before, err := pageBefore(r, "before")
	if err != nil {
		return nil, err
	}
	page := templates.OrdersPage{Base: base, Before: int(min(before, 1<<31-1))}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		if page.Open, err = order.Open(r.Context(), tx); err != nil {
			return err
		}
		if page.Over, page.More, err = order.Over(r.Context(), tx, page.Before); err != nil {
			return err
		}
		page.Suppliers, err = stock.Suppliers(r.Context(), tx)
		return err
	})
	return templates.Orders(page), err
}

// beginOrder opens the draft of a supplier.
func (a *App) beginOrder(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, "order begun", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		id, err := order.Begin(ctx, tx, by, f.number("supplier"))
		return orderPath(id, ""), f.with(err)
	}, func(base templates.Base) (templ.Component, error) { return a.ordersPage(r, base) })
}

// orderDone is what the page of an order says after each of its forms.
var orderDone = map[string]string{
	"line":    "It is on the draft.",
	"lines":   "The amounts are kept.",
	"send":    "It is sent. What comes of it is received here.",
	"await":   "The day is kept.",
	"note":    "The note is kept.",
	"close":   "It is closed.",
	"shelved": "What came is on the shelf.",
	"advised": "What was chosen is on the drafts.",
}

func orderPath(id int64, done string) string {
	path := "/orders/" + strconv.FormatInt(id, 10)
	if done != "" {
		path += "?done=" + done
	}
	return path
}

func (a *App) oneOrder(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = orderDone[r.URL.Query().Get("done")]
		return a.orderPage(r.Context(), base, id, "")
	})
}

func (a *App) orderPage(ctx context.Context, base templates.Base, id int64, sent string) (templ.Component, error) {
	form := func(name string) templates.Base { return base.Alone(uuid.NewString(), sent == name) }
	page := templates.OrderPage{Base: base, Forms: templates.OrderForms{
		Add: form("line"), Lines: form("lines"), Send: form("send"), Await: form("await"), Note: form("note"), Close: form("close"),
	}}
	err := a.readOrder(ctx, &page, id)
	page.Title = fmt.Sprintf("Order %d, %s", page.Order.Number, page.Supplier.Name)
	return templates.Order(page), err
}

func (a *App) readOrder(ctx context.Context, page *templates.OrderPage, id int64) error {
	return db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Order, err = order.Get(ctx, tx, id); err != nil {
			return err
		}
		if page.Lines, err = order.Lines(ctx, tx, id); err != nil {
			return err
		}
		if page.Changes, err = order.Changes(ctx, tx, id); err != nil {
			return err
		}
		if page.Shorts, err = order.Faults(ctx, tx, id); err != nil {
			return err
		}
		if page.Supplier, err = stock.GetSupplier(ctx, tx, page.Order.SupplierID); err != nil {
			return err
		}
		if page.Lead, err = order.Lead(ctx, tx, page.Order.SupplierID, page.Prefs.Zone); err != nil {
			return err
		}
		if page.Waiting, err = partslist.WaitingTickets(ctx, tx, itemsOf(page.Lines)...); err != nil {
			return err
		}
		counted, err := order.Unpacked(ctx, tx, id)
		page.Counting = len(counted) > 0
		return err
	})
}

// changeOrder makes the handler of the form of an order called name.
func changeOrder(name string, do change) handler {
	return changeBy("order: "+name, do,
		func(id int64) string { return orderPath(id, name) },
		func(a *App, ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
			return a.orderPage(ctx, base, id, name)
		})
}

// addOrderLine puts what was scanned or typed on the draft of the order's supplier.
func addOrderLine(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, f *form) error {
	o, err := order.Get(ctx, tx, id)
	if err != nil {
		return err
	}
	if o.State != order.Draft {
		return fault.Conflict("This order is no draft any more: what was ordered stays as it was sent.")
	}
	item, err := stock.Scan(ctx, tx, f.text("scan"))
	if err != nil {
		return f.with(err)
	}
	wish := order.Wish{Item: item.ID, Supplier: o.SupplierID, Qty: 1}
	if f.text("qty") != "" {
		wish.Qty = f.amountOrNone("qty", item.Measure)
	}
	if err := f.err(); err != nil {
		return err
	}
	draft, err := order.AddLine(ctx, tx, by, wish)
	if err == nil && draft != id {
		return fault.Conflict("This order was sent just now; look again.")
	}
	return f.with(renamed(err, "item", "scan"))
}

// amountOrNone reads an amount of a measure, of which there may be none.
func (f *form) amountOrNone(name string, m stock.Measure) int64 {
	n, err := m.ParseZero(f.text(name))
	if err != nil {
		f.wrong(name, err.Error())
	}
	return n
}

func changeOrderLines(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
	lines, err := order.Lines(ctx, tx, id)
	if err != nil {
		return err
	}
	settings, err := shop.Get(ctx, tx)
	if err != nil {
		return err
	}
	sent := f.ids("line")
	var changes []order.LineChange
	for _, l := range lines {
		if slices.Contains(sent, l.ID) {
			changes = append(changes, order.LineChange{ID: l.ID, Qty: f.amountOrNone(fmt.Sprint(l.ID, ".qty"), l.Measure),
				PriceMinor: f.money(fmt.Sprint(l.ID, ".price"), settings.Currency)})
		}
	}
	if err := f.err(); err != nil {
		return err
	}
	return order.ChangeLines(ctx, tx, by, id, version, changes)
}

func sendOrder(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
	settings, err := shop.Get(ctx, tx)
	if err != nil {
		return err
	}
	on := f.day("expected_on")
	if err := f.err(); err != nil {
		return err
	}
	if err := order.Send(ctx, tx, by, id, version, on, settings.Location()); err != nil {
		return err
	}
	return awaitAnew(ctx, tx, by, id)
}

func awaitOrder(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
	settings, err := shop.Get(ctx, tx)
	if err != nil {
		return err
	}
	on := f.day("expected_on")
	if on == nil {
		f.wrong("expected_on", "Say a day, such as 2026-03-14.")
	}
	if err := f.err(); err != nil {
		return err
	}
	if err := order.Await(ctx, tx, by, id, version, *on, settings.Location()); err != nil {
		return err
	}
	return awaitAnew(ctx, tx, by, id)
}

func noteOrder(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
	return order.Note(ctx, tx, by, id, version, f.text("note"))
}

func closeOrder(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
	if err := order.Close(ctx, tx, by, id, version, f.text("reason")); err != nil {
		return err
	}
	return awaitAnew(ctx, tx, by, id)
}

// awaitAnew has the jobs that want what is on an order wait until it is expected now.
func awaitAnew(ctx context.Context, tx pgx.Tx, by history.By, id int64) error {
	lines, err := order.Lines(ctx, tx, id)
	if err != nil {
		return err
	}
	return job.AwaitAnew(ctx, tx, by, itemsOf(lines))
}

// printOrder is an order on paper, for its supplier.
func (a *App) printOrder(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		page := templates.OrderPage{Base: base}
		if err := a.readOrder(r.Context(), &page, id); err != nil {
			return nil, err
		}
		page.Title = fmt.Sprintf("Order %d on paper", page.Order.Number)
		var err error
		page.Desk, err = shop.Get(r.Context(), a.pool)
		return templates.OrderPaper(page), err
	})
}

// orderFile is an order as a file, for its supplier.
func (a *App) orderFile(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	o, err := order.Get(r.Context(), a.pool, id)
	if err != nil {
		return err
	}
	lines, err := order.Lines(r.Context(), a.pool, id)
	if err != nil {
		return err
	}
	settings, err := shop.Get(r.Context(), a.pool)
	if err != nil {
		return err
	}
	data, err := order.File(lines, settings.Currency)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8; header=present")
	w.Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="order-%d.csv"`, o.Number))
	_, err = w.Write(data)
	return err
}
