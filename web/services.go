package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bill"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/money"
	"damperdesk/internal/shop"
	"damperdesk/internal/spec"
	"damperdesk/templates"
)

// servicesDone is what the price list says after each of its forms.
var servicesDone = map[string]string{
	"prices": "The prices are saved.",
	"model":  "The price for that model is saved.",
	"tax":    "The tax is saved.",
	"inside": "It is settled how prices are typed.",
	"round":  "It is settled how tax is rounded.",
}

func (a *App) services(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = servicesDone[r.URL.Query().Get("done")]
		return a.servicesPage(r.Context(), base, "")
	})
}

// servicesPage shows what was typed in the form that was sent, if any.
func (a *App) servicesPage(ctx context.Context, base templates.Base, sent string) (templ.Component, error) {
	base.Title = "Services and prices"
	form := func(name string) templates.Base { return base.Alone(uuid.NewString(), sent == name) }
	page := templates.ServicesPage{Base: base, List: form("prices"), Model: form("model"), Tax: form("tax"), Holds: form("inside"), Round: form("round")}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		settings, err := shop.Get(ctx, tx)
		if err != nil {
			return err
		}
		page.Inside, page.ByLine, page.Version = settings.PricesIncludeTax, settings.TaxByLine, settings.Version
		if page.Settled, err = shop.TaxSettled(ctx, tx); err != nil {
			return err
		}
		if page.Rates, err = bill.TaxRates(ctx, tx); err != nil {
			return err
		}
		if page.Models, err = spec.Models(ctx, tx); err != nil {
			return err
		}
		if page.InForce, err = bill.Listed(ctx, tx); err != nil {
			return err
		}
		page.Prices, err = bill.Prices(ctx, tx)
		return err
	})
	return templates.Services(page), err
}

// changeServices makes the handler of the form of the price list called name.
func changeServices(name string, do func(ctx context.Context, tx pgx.Tx, by history.By, f *form) error) handler {
	return func(a *App, w http.ResponseWriter, r *http.Request) error {
		f, err := readForm(r)
		if err != nil {
			return err
		}
		return a.take(w, r, f, "services: "+name, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			return "/services?done=" + name, do(ctx, tx, by, f)
		}, func(base templates.Base) (templ.Component, error) {
			return a.servicesPage(r.Context(), base, name)
		})
	}
}

// setPrices reads the hourly rate and a price for each service that the form
// asked for.
func setPrices(ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
	settings, err := shop.Get(ctx, tx)
	if err != nil {
		return err
	}
	list, err := bill.Prices(ctx, tx)
	if err != nil {
		return err
	}
	list = slices.DeleteFunc(list, func(p bill.Price) bool { return !f.values.Has("version." + p.ServiceCode) })
	for i := range list {
		code := list[i].ServiceCode
		list[i] = f.listPrice(code, "charged."+code, "price."+code, "tax."+code, settings.Currency)
		list[i].Version = int(f.number("version." + code))
	}
	hour := bill.Hour{Minor: f.money("hour", settings.Currency), Currency: settings.Currency, Version: int(f.number("hourversion"))}
	if err := f.err(); err != nil {
		return err
	}
	if f.values.Has("hourversion") {
		if err := bill.SetHour(ctx, tx, by, hour); err != nil {
			return err
		}
	}
	return bill.SetPrices(ctx, tx, by, list)
}

// listPrice reads what a service costs from the fields of that name.
func (f *form) listPrice(code, charged, price, tax, currency string) bill.Price {
	return bill.Price{ServiceCode: code, ByTime: f.text(charged) == templates.ByBookTime, Minor: f.money(price, currency),
		Currency: currency, TaxCode: f.text(tax)}
}

// setModelPrice sets what one service costs on one model; nothing stands for
// what it costs on any other.
func setModelPrice(ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
	settings, err := shop.Get(ctx, tx)
	if err != nil {
		return err
	}
	if err := f.serviceAndModel(ctx, tx); err != nil {
		return err
	}
	p := f.listPrice(f.text("service"), "charged", "price", "tax", settings.Currency)
	p.ModelID = f.number("model")
	list, err := bill.Listed(ctx, tx)
	if err != nil {
		return err
	}
	p.Version = list.Of(p.ServiceCode, p.ModelID).Version
	if err := f.err(); err != nil {
		return err
	}
	err = bill.SetPrices(ctx, tx, by, []bill.Price{p})
	var invalid *fault.Invalid
	if !errors.As(err, &invalid) {
		return err
	}
	for name, sentence := range invalid.Fields {
		field, _, _ := strings.Cut(name, ".")
		f.wrong(field, sentence)
	}
	return f.err()
}

func setInside(ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
	inside, version := f.text("inside"), f.number("version")
	if inside != "yes" && inside != "no" {
		f.wrong("inside", "Choose how prices are typed.")
	}
	if err := f.err(); err != nil {
		return err
	}
	return shop.SetPricesIncludeTax(ctx, tx, by, int(version), inside == "yes")
}

func setRounding(ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
	round, version := f.text("round"), f.number("version")
	if round != "line" && round != "bill" {
		f.wrong("round", "Choose how tax is rounded.")
	}
	if err := f.err(); err != nil {
		return err
	}
	return shop.SetTaxByLine(ctx, tx, by, int(version), round == "line")
}

func addTax(ctx context.Context, tx pgx.Tx, by history.By, f *form) error {
	return setTax(ctx, tx, by, f, "", 0)
}

func setTax(ctx context.Context, tx pgx.Tx, by history.By, f *form, code string, version int) error {
	bp, err := money.ParseRate(f.text("rate"))
	if err != nil {
		f.wrong("rate", err.Error())
	}
	if f.text("name") == "" {
		f.wrong("name", "Give it a name, as it stands on a bill.")
	}
	if err := f.err(); err != nil {
		return err
	}
	return bill.SetTaxRate(ctx, tx, by, bill.TaxRate{Code: code, Name: f.text("name"), BP: bp, Version: version})
}

func (a *App) tax(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.taxPage(r, base)
	})
}

func (a *App) taxPage(r *http.Request, base templates.Base) (templ.Component, error) {
	rates, err := bill.TaxRates(r.Context(), a.pool)
	i := slices.IndexFunc(rates, func(t bill.TaxRate) bool { return t.Code == chi.URLParam(r, "code") })
	if err == nil && i < 0 {
		err = fault.NotFound("There is no such tax.")
	}
	if err != nil {
		return nil, err
	}
	base.Title = "Tax " + rates[i].Code
	return templates.Tax(templates.TaxPage{Base: base, Rate: rates[i]}), nil
}

func (a *App) changeTax(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, "tax", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		version := int(f.number("version"))
		return "/services?done=tax", setTax(ctx, tx, by, f, chi.URLParam(r, "code"), version)
	}, func(base templates.Base) (templ.Component, error) { return a.taxPage(r, base) })
}

// servicesStand is how the price list stands, for the page of the shop.
func servicesStand(ctx context.Context, q db.Querier, _ templates.Base) (string, error) {
	list, err := bill.Prices(ctx, q)
	priced := len(slices.DeleteFunc(slices.Clone(list), func(p bill.Price) bool { return !p.Says() }))
	if priced == 0 {
		return "", err
	}
	return fmt.Sprintf("%d of %d services have a price", priced, len(list)), err
}
