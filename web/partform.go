package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strconv"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bill"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/quantity"
	"damperdesk/internal/shop"
	"damperdesk/internal/spec"
	"damperdesk/internal/stock"
	"damperdesk/templates"
)

func (a *App) newPart(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.newPartPage(r.Context(), base)
	})
}

func (a *App) newPartPage(ctx context.Context, base templates.Base) (templ.Component, error) {
	base.Title = "Add a part"
	page := templates.PartFormsPage{Base: base, Change: base}
	page.Item.Measure, page.Item.Kind = stock.Each, "other part"
	err := readPartForms(ctx, a.pool, &page)
	return templates.NewPart(page), err
}

func (a *App) addPart(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, "part added", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		d, err := f.part(ctx, tx)
		if err != nil {
			return "", err
		}
		id, err := stock.Add(ctx, tx, by, d)
		return partPath(id) + "?done=added", f.with(err)
	}, func(base templates.Base) (templ.Component, error) {
		return a.newPartPage(r.Context(), base)
	})
}

// part reads what is said of an item. What is wrong with its fields stays in f.
func (f *form) part(ctx context.Context, q db.Querier) (stock.Details, error) {
	settings, err := shop.Get(ctx, q)
	if err != nil {
		return stock.Details{}, err
	}
	d := stock.Details{
		Code: f.text("code"), Name: f.text("name"), Kind: stock.Sort(f.text("kind")), Measure: stock.Measure(f.text("measure")),
		Place: f.text("place"), Barcode: f.text("barcode"), SaleMinor: f.money("sale", settings.Currency), TaxCode: f.text("tax"),
		Batched: f.ticked("batched"), ShelfDays: f.count("shelf_days"), OpenedDays: f.count("opened_days"),
		Nu40: f.decimal("nu40", quantity.ParseNumber), Nu100: f.decimal("nu100", quantity.ParseNumber), Models: f.ids("models"),
	}
	if slices.Contains(stock.Measures, d.Measure) {
		d.Low, d.High = f.level("low", d.Measure), f.level("high", d.Measure)
	}
	if d.TaxCode != "" {
		rates, err := bill.TaxRates(ctx, q)
		if err != nil {
			return d, err
		}
		if !slices.ContainsFunc(rates, func(t bill.TaxRate) bool { return t.Code == d.TaxCode }) {
			f.wrong("tax", "Choose one of the taxes.")
		}
	}
	if code := f.text("replaced_by"); code != "" {
		instead, err := stock.ByCode(ctx, q, code)
		if errors.As(err, new(fault.NotFound)) {
			f.wrong("replaced_by", "No item has that code.")
		} else if err != nil {
			return d, err
		}
		d.ReplacedBy = instead.ID
	}
	return d, nil
}

// level reads an amount from zero; nil when the field is empty.
func (f *form) level(name string, m stock.Measure) *int64 {
	t := f.text(name)
	if t == "" {
		return nil
	}
	amount, err := m.ParseZero(t)
	if err != nil {
		f.wrong(name, err.Error())
		return nil
	}
	return &amount
}

// count reads a whole number; nil when the field is empty.
func (f *form) count(name string) *int {
	t := f.text(name)
	if t == "" {
		return nil
	}
	n, err := quantity.ParseCount(t)
	if err != nil {
		f.wrong(name, err.Error())
		return nil
	}
	return &n
}

func (a *App) partForms(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.partFormsPage(r.Context(), base, id, "")
	})
}

// partFormsPage shows what was typed in the form called sent: "change", or "source "
// with the id of a supplier, 0 for a new one.
func (a *App) partFormsPage(ctx context.Context, base templates.Base, id int64, sent string) (templ.Component, error) {
	form := func(name string) templates.Base { return base.Alone(uuid.NewString(), sent == name) }
	page := templates.PartFormsPage{Base: base, Change: form("change"), Retire: form("retire")}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Item, err = stock.Get(ctx, tx, id); err != nil {
			return err
		}
		if page.Item.ReplacedBy != 0 {
			instead, err := stock.Get(ctx, tx, page.Item.ReplacedBy)
			if err != nil {
				return err
			}
			page.Instead = instead.Code
		}
		sources, err := stock.Sources(ctx, tx, id)
		if err != nil {
			return err
		}
		for _, s := range append(sources, stock.Source{}) {
			page.Sources = append(page.Sources, templates.SourceForm{Source: s, Form: form(sourceForm(s.SupplierID, s.Version))})
		}
		if page.Suppliers, err = stock.Suppliers(ctx, tx); err != nil {
			return err
		}
		return readPartForms(ctx, tx, &page)
	})
	page.Title = "Change " + page.Item.Code
	return templates.PartForms(page), err
}

// sourceForm names the form of a supplier; that of a new one has no version.
func sourceForm(supplier int64, version int) string {
	if version == 0 {
		supplier = 0
	}
	return "source " + strconv.FormatInt(supplier, 10)
}

func readPartForms(ctx context.Context, q db.Querier, page *templates.PartFormsPage) error {
	settings, err := shop.Get(ctx, q)
	if err != nil {
		return err
	}
	page.Inside = settings.PricesIncludeTax
	if page.Models, err = spec.Models(ctx, q); err != nil {
		return err
	}
	if page.Places, err = stock.Places(ctx, q); err != nil {
		return err
	}
	page.Rates, err = bill.TaxRates(ctx, q)
	return err
}

func correctPart(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
	d, err := f.part(ctx, tx)
	if err != nil {
		return err
	}
	return f.with(stock.Change(ctx, tx, by, id, version, d))
}

// retirePart takes an item off the lists from today on.
func retirePart(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, _ *form) error {
	settings, err := shop.Get(ctx, tx)
	if err != nil {
		return err
	}
	today := by.At.In(settings.Location())
	return stock.Retire(ctx, tx, by, id, version, &today)
}

func returnPart(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, _ *form) error {
	return stock.Retire(ctx, tx, by, id, version, nil)
}

// putSource keeps or takes away how an item is bought from one supplier.
func (a *App) putSource(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	s := stock.Source{ItemID: id, SupplierID: f.number("supplier"), Code: f.text("supplier_code"), Barcode: f.text("supplier_barcode"),
		First: f.ticked("first"), Version: int(f.number("version"))}
	return a.take(w, r, f, "source", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		i, err := stock.Get(ctx, tx, id)
		if err != nil {
			return "", err
		}
		to := partPath(id) + "?done=source"
		if f.text("press") == "drop" {
			return to, stock.DropSource(ctx, tx, by, id, s.SupplierID, s.Version)
		}
		settings, err := shop.Get(ctx, tx)
		if err != nil {
			return "", err
		}
		s.Pack, s.PriceMinor = f.amount("pack", i.Measure), f.money("price", settings.Currency)
		return to, f.with(stock.PutSource(ctx, tx, by, s))
	}, func(base templates.Base) (templ.Component, error) {
		return a.partFormsPage(r.Context(), base, id, sourceForm(s.SupplierID, s.Version))
	})
}
