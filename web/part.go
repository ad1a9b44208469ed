package web

import (
	"context"
	"math"
	"net/http"
	"strconv"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/csvfile"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/money"
	"damperdesk/internal/order"
	"damperdesk/internal/partslist"
	"damperdesk/internal/shop"
	"damperdesk/internal/spec"
	"damperdesk/internal/stock"
	"damperdesk/templates"
)

// partDone is what the page of an item says after each form about it.
var partDone = map[string]string{
	"added":     "Added. There is none of it until some is received.",
	"change":    "It is corrected.",
	"source":    "It is kept where it is bought.",
	"retire":    "It is off the lists.",
	"return":    "It is back on the lists.",
	"receive":   "It is received.",
	"out":       "It is off the shelf.",
	"open":      "The bottle is the one in use.",
	"take-back": "That is taken back.",
}

func (a *App) part(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	before, err := pageBefore(r, "before")
	if err == nil && before > math.MaxInt32 {
		err = fault.NotFound("There is no such page.")
	}
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = partDone[r.URL.Query().Get("done")]
		return a.partPageFrom(r.Context(), base, id, "", int(before))
	})
}

func (a *App) partPage(ctx context.Context, base templates.Base, id int64, sent string) (templ.Component, error) {
	return a.partPageFrom(ctx, base, id, sent, 0)
}

// partPageFrom shows the ledger of an item from what is older than its move number
// before, 0 from the newest. Of its forms the one called sent shows what was typed.
func (a *App) partPageFrom(ctx context.Context, base templates.Base, id int64, sent string, before int) (templ.Component, error) {
	form := func(name string) templates.Base { return base.Alone(uuid.NewString(), sent == name) }
	page := templates.PartPage{Base: base, Before: before, Receive: form("receive"), Out: form("out"), Open: form("open"), Back: form("take-back")}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Item, err = stock.Get(ctx, tx, id); err != nil {
			return err
		}
		if page.Entries, err = stock.Entries(ctx, tx, id, before); err != nil {
			return err
		}
		return readPart(ctx, tx, &page)
	})
	page.Title = page.Item.Name + ", " + page.Item.Code
	return templates.Part(page), err
}

// readPart reads what an item's page says beside its ledger.
func readPart(ctx context.Context, q db.Querier, page *templates.PartPage) (err error) {
	settings, err := shop.Get(ctx, q)
	if err != nil {
		return err
	}
	page.Inside = settings.PricesIncludeTax
	if page.Sources, err = stock.Sources(ctx, q, page.Item.ID); err != nil {
		return err
	}
	if page.Batches, err = stock.Batches(ctx, q, page.Item.ID); err != nil {
		return err
	}
	if page.Item.ReplacedBy != 0 {
		instead, err := stock.Get(ctx, q, page.Item.ReplacedBy)
		if err != nil {
			return err
		}
		page.Instead = &instead
	}
	if len(page.Item.Models) > 0 {
		if page.Models, err = spec.Models(ctx, q); err != nil {
			return err
		}
	}
	open, err := stock.OpenBottles(ctx, q, page.Item.ID)
	if bottle, is := open[page.Item.ID]; is {
		page.Bottle = &bottle
	}
	return err
}

// changePart makes the handler of the form about an item called name, which stands
// on the page that again shows.
func changePart(name string, do change, again func(*App, context.Context, templates.Base, int64, string) (templ.Component, error)) handler {
	return changeBy("part: "+name, do,
		func(id int64) string { return partPath(id) + "?done=" + name },
		func(a *App, ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
			return again(a, ctx, base, id, name)
		})
}

// amount reads an amount of such a measure above zero; 0 where it says what is wrong.
func (f *form) amount(name string, m stock.Measure) int64 {
	amount, err := m.Parse(f.text(name))
	if err != nil {
		f.wrong(name, err.Error())
	}
	return amount
}

func receivePart(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, f *form) error {
	i, err := stock.Get(ctx, tx, id)
	if err != nil {
		return err
	}
	settings, err := shop.Get(ctx, tx)
	if err != nil {
		return err
	}
	d := stock.Delivery{Item: id, Qty: f.amount("in.qty", i.Measure), Batch: f.text("in.batch"), BestBefore: f.day("in.best_before")}
	of, err := pricedAmount(ctx, tx, i, f.text("in.per"), d.Qty)
	if err != nil {
		return err
	}
	if cost := f.money("in.cost", settings.Currency); cost != nil {
		d.Cost = *cost
		if f.err() == nil {
			d.Cost = money.Part(*cost, d.Qty, of)
		}
	} else {
		f.wrong("in.cost", "Type what it cost before tax, 0 if nothing.")
	}
	if err := f.err(); err != nil {
		return err
	}
	err = job.Supply(ctx, tx, by, []int64{id}, func() error {
		_, err := stock.Deliver(ctx, tx, by, d, settings.Location())
		return within("in", err)
	})
	return err
}

// pricedAmount is the amount that a price was typed for: all of it, the priced
// amount of the item's measure, or the pack of a supplier.
func pricedAmount(ctx context.Context, q db.Querier, i stock.Item, per string, all int64) (int64, error) {
	switch per {
	case "", templates.PerAll:
		return all, nil
	case templates.PerPriced:
		return i.Measure.Priced(), nil
	}
	sources, err := stock.Sources(ctx, q, i.ID)
	if err != nil {
		return 0, err
	}
	for _, s := range sources {
		if per == strconv.FormatInt(s.SupplierID, 10) {
			return s.Pack, nil
		}
	}
	return 0, fault.Field("in.per", "Choose what the cost is for.")
}

func takeOut(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, f *form) error {
	i, err := stock.Get(ctx, tx, id)
	if err != nil {
		return err
	}
	p := stock.Posting{Item: id, Kind: stock.Kind(f.text("out.how")), Qty: f.amount("out.qty", i.Measure), Batch: f.number("out.batch"), Reason: f.text("out.reason")}
	switch p.Kind {
	case stock.Use, stock.SendBack, stock.WriteOff, stock.Waste:
	default:
		f.wrong("out.how", "Choose what becomes of it.")
		p.Kind = stock.Use
	}
	if err := f.err(); err != nil {
		return err
	}
	return job.Supply(ctx, tx, by, []int64{id}, func() error { // what lay aside may be gone with it
		_, err := stock.Post(ctx, tx, by, p)
		return within("out", err)
	})
}

func openBottle(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, f *form) error {
	batch := f.number("open.batch")
	if err := f.err(); err != nil {
		return err
	}
	return within("open", stock.OpenBottle(ctx, tx, by, id, batch))
}

func takeMoveBack(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, f *form) error {
	move := f.number("back.move")
	if err := f.err(); err != nil {
		return err
	}
	m, err := stock.GetEntry(ctx, tx, move)
	if err == nil && m.ItemID != id {
		return fault.NotFound("There is no such move of this item.")
	}
	if err != nil {
		return err
	}
	err = job.Supply(ctx, tx, by, []int64{id}, func() (err error) {
		if m.JobID != 0 {
			_, err = partslist.TakeBack(ctx, tx, by, m, f.text("back.reason"))
		} else {
			_, err = order.TakeBack(ctx, tx, by, move, f.text("back.reason"))
		}
		return within("back", err)
	})
	return err
}

// ledgerFile sends the whole ledger of an item.
func (a *App) ledgerFile(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	var data []byte
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
		settings, err := shop.Get(r.Context(), tx)
		if err != nil {
			return err
		}
		rows, err := stock.Ledger(r.Context(), tx, id, settings.Currency, settings.Location())
		if err != nil {
			return err
		}
		data, err = csvfile.Write(rows)
		return err
	})
	if err != nil {
		return err
	}
	return sendCSV(w, "ledger-"+strconv.FormatInt(id, 10)+".csv", data)
}

func sendCSV(w http.ResponseWriter, name string, data []byte) error {
	w.Header().Set("Content-Type", "text/csv; charset=utf-8; header=present")
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	_, err := w.Write(data)
	return err
}
