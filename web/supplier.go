package web

import (
	"context"
	"net/http"
	"strconv"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/quantity"
	"damperdesk/internal/shop"
	"damperdesk/internal/stock"
	"damperdesk/templates"
)

// supplierDone is what the page of a supplier says after each of its forms.
var supplierDone = map[string]string{
	"added":  "Added. Say on the page of each part what is bought there.",
	"change": "It is corrected.",
	"leave":  "Nothing is bought there any more.",
	"return": "It is among those you buy from again.",
}

func supplierPath(id int64, done string) string {
	return "/suppliers/" + strconv.FormatInt(id, 10) + "?done=" + done
}

func (a *App) suppliers(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Title = "Suppliers"
		list, err := stock.Suppliers(r.Context(), a.pool)
		return templates.Suppliers(templates.SuppliersPage{Base: base, Suppliers: list}), err
	})
}

func newSupplierPage(base templates.Base) (templ.Component, error) {
	base.Title = "Add a supplier"
	return templates.NewSupplier(base), nil
}

func (a *App) newSupplier(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, newSupplierPage)
}

// supplier reads what is said of a supplier; prices are in the shop's currency.
func (f *form) supplier(ctx context.Context, q db.Querier) (stock.Supplier, error) {
	settings, err := shop.Get(ctx, q)
	s := stock.Supplier{Name: f.text("name"), Mail: f.text("mail"), Phone: f.text("phone"), Account: f.text("account"), Note: f.text("note"),
		MinimumMinor: f.money("minimum", settings.Currency)}
	if days := f.decimal("lead_days", countOf); days != nil {
		s.LeadDays = int(*days)
	} else {
		f.wrong("lead_days", "Give the days from order to delivery, from 0 to 365.")
	}
	for _, day := range f.ids("order_days") {
		s.OrderDays = append(s.OrderDays, int16(min(day, 8)))
	}
	return s, err
}

func countOf(text string) (float64, error) {
	n, err := quantity.ParseCount(text)
	return float64(n), err
}

func (a *App) addSupplier(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, "supplier added", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		s, err := f.supplier(ctx, tx)
		if err != nil {
			return "", err
		}
		id, err := stock.AddSupplier(ctx, tx, by, s)
		return supplierPath(id, "added"), f.with(err)
	}, newSupplierPage)
}

func (a *App) supplier(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = supplierDone[r.URL.Query().Get("done")]
		return a.supplierPage(r.Context(), base, id, plain(r.URL.Query().Get("after")))
	})
}

// supplierPage lists the items bought there from behind the key after.
func (a *App) supplierPage(ctx context.Context, base templates.Base, id int64, after string) (templ.Component, error) {
	page := templates.SupplierPage{Base: base, Leave: base.Alone(uuid.NewString(), false)}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Supplier, err = stock.GetSupplier(ctx, tx, id); err != nil {
			return err
		}
		page.Items, page.More, err = stock.List(ctx, tx, stock.Filter{Supplier: id, Gone: true, After: after})
		return err
	})
	page.Title = page.Supplier.Name
	return templates.Supplier(page), err
}

// changeSupplier corrects what is said of one, or says that nothing is bought
// there from today on, or that it is again.
func changeSupplier(a *App, w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	version, press := int(f.number("version")), f.text("press")
	return a.take(w, r, f, "supplier", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		s, err := stock.GetSupplier(ctx, tx, id)
		if err != nil {
			return "", err
		}
		left := s.LeftOn
		switch press {
		case "leave":
			settings, err := shop.Get(ctx, tx)
			if err != nil {
				return "", err
			}
			today := by.At.In(settings.Location())
			s.LeftOn = &today
		case "return":
			s.LeftOn = nil
		default:
			press = "change"
			if s, err = f.supplier(ctx, tx); err != nil {
				return "", err
			}
			s.LeftOn = left
		}
		s.ID, s.Version = id, version
		return supplierPath(id, press), f.with(stock.ChangeSupplier(ctx, tx, by, s))
	}, func(base templates.Base) (templ.Component, error) {
		return a.supplierPage(r.Context(), base, id, "")
	})
}
