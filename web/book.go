package web

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/book"
	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/due"
	"damperdesk/internal/fault"
	"damperdesk/internal/find"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/link"
	"damperdesk/internal/message"
	"damperdesk/internal/picture"
	"damperdesk/internal/reconcile"
	"damperdesk/internal/shop"
	"damperdesk/internal/spec"
	"damperdesk/templates"
)

// pageBefore reads the id that a page of a list begins before; 0 when the
// address has none.
func pageBefore(r *http.Request, name string) (int64, error) {
	text := r.URL.Query().Get(name)
	if text == "" {
		return 0, nil
	}
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil || id < 1 {
		return 0, fault.NotFound("There is no such page.")
	}
	return id, nil
}

// readHistory reads a page of a history with the bench sheets of the steps that
// stand in it.
func readHistory(ctx context.Context, q db.Querier, scope history.Scope, id, before int64) (h templates.History, err error) {
	if h.Entries, err = history.Read(ctx, q, scope, id, before); err != nil {
		return h, err
	}
	h.Sheets = map[int64]bench.Sheet{}
	for _, e := range h.Entries {
		if _, read := h.Sheets[e.JobID]; read || e.Detail["step"] == nil && e.Detail["signoff"] == nil && e.Detail["finding"] == nil {
			continue
		}
		if h.Sheets[e.JobID], err = bench.Get(ctx, q, e.JobID); err != nil {
			return h, err
		}
	}
	return h, nil
}

// customerDone is what the page of a customer says after each of its forms.
var customerDone = map[string]string{
	"details":      "The details are kept.",
	"details-both": "The details are kept. Somebody else changed others of them meanwhile; that stands too.",
	"merge":        "They are one now. This page has what both had.",
	"part":         "They are two again.",
	"messages":     "It is kept what they want to be written.",
	"way":          "It is kept how they read what we write.",
	"erased":       "The customer is erased. What was done stays.",
}

// customerBook leads to who a customer is now.
func (a *App) customerBook(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	now, err := customer.Get(r.Context(), a.pool, id)
	if err != nil {
		return err
	}
	if now.ID != id {
		http.Redirect(w, r, customerPath(now.ID, ""), http.StatusSeeOther)
		return nil
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = customerDone[r.URL.Query().Get("done")]
		return a.customerBookPage(r, base, nil)
	})
}

func (a *App) customerBookPage(r *http.Request, base templates.Base, clashes []reconcile.Clash) (templ.Component, error) {
	page := templates.CustomerBookPage{Base: base, Clashes: clashes}
	err := a.readBook(r, func(ctx context.Context, tx pgx.Tx, id, before, closed int64) (err error) {
		if page.Customer, err = customer.Get(ctx, tx, id); err != nil {
			return err
		}
		if page.Units, err = customer.Units(ctx, tx, id); err != nil {
			return err
		}
		if page.Closed, err = job.ClosedOf(ctx, tx, id, 0, closed); err != nil {
			return err
		}
		if page.Alike, err = find.LikelySame(ctx, tx, page.Customer.Details(), id); err != nil {
			return err
		}
		if page.Merged, err = customer.MergedInto(ctx, tx, id); err != nil {
			return err
		}
		if page.Wanted, err = message.Wanted(ctx, tx, id); err != nil {
			return err
		}
		if page.Way, err = customer.GetWay(ctx, tx, id); err != nil {
			return err
		}
		if page.Sold, err = customer.SoldBy(ctx, tx, id); err != nil {
			return err
		}
		page.History, err = readHistory(ctx, tx, history.OfCustomer, id, before)
		return err
	})
	page.Title = page.Customer.Name
	page.Part, page.Messages, page.File = base.Alone(uuid.NewString(), false), base.Alone(uuid.NewString(), false), base.Alone(uuid.NewString(), false)
	reads := base.Typed.Get("form") == templates.FormReads
	page.Form, page.Reads = base.Alone(base.Intent, !reads), base.Alone(uuid.NewString(), reads)
	return templates.CustomerBook(page), err
}

// customerReads keeps at the desk how a customer says they read what the shop writes.
func (a *App) customerReads(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, "way of reading", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return customerPath(id, "way"), customer.SetWay(ctx, tx, by, id, f.way())
	}, func(base templates.Base) (templ.Component, error) { return a.customerBookPage(r, base, nil) })
}

// unitDone is what the page of a unit says after each of its forms.
var unitDone = map[string]string{"hours": "Written down.", "hours-back": "Taken back. What is due is reckoned without it.", "sold": "It is theirs now, with its service book.", "happened": "Written down.", "put-off": "It is kept.", "unit": "It is corrected.",
	"link": "The book has its link.", "revoked": "The link leads nowhere any more.", "book": "The service book is read in.", "book-back": "The service book is taken back. What is due is reckoned without it.",
	"unit-both": "It is corrected. Somebody else corrected something else meanwhile; that stands too."}

func (a *App) unitBook(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = unitDone[r.URL.Query().Get("done")]
		return a.unitBookPage(r, base)
	})
}

func (a *App) unitBookPage(r *http.Request, base templates.Base) (templ.Component, error) {
	page := templates.UnitBookPage{Base: base}
	err := a.readBook(r, func(ctx context.Context, tx pgx.Tx, id, before, closed int64) (err error) {
		if page.Unit, err = customer.GetUnit(ctx, tx, id); err != nil {
			return err
		}
		if page.Customer, err = customer.Get(ctx, tx, page.Unit.CustomerID); err != nil {
			return err
		}
		if page.Inside, err = spec.InsideOf(ctx, tx, id); err != nil {
			return err
		}
		if page.Due, err = due.OfUnit(ctx, tx, id, base.Now); err != nil {
			return err
		}
		if page.PutOffs, err = due.PutOffs(ctx, tx, id); err != nil {
			return err
		}
		if page.HoursBefore, err = pageBefore(r, "hours"); err != nil {
			return err
		}
		if err = readRiding(ctx, tx, &page, id); err != nil {
			return err
		}
		if page.Closed, err = job.ClosedOf(ctx, tx, 0, id, closed); err != nil {
			return err
		}
		if page.Found, err = bench.FindingsOfUnit(ctx, tx, id); err != nil {
			return err
		}
		if page.Pictures, err = picture.ByID(ctx, tx, page.PictureIDs()); err != nil {
			return err
		}
		if page.Owners, err = customer.OwnersOf(ctx, tx, id); err != nil {
			return err
		}
		if page.History, err = readHistory(ctx, tx, history.OfUnit, id, before); err != nil {
			return err
		}
		if page.Elsewhere, err = book.Elsewhere(ctx, tx, id); err != nil {
			return err
		}
		if page.ReadIns, err = book.ReadIns(ctx, tx, id); err != nil {
			return err
		}
		if page.Link, err = a.bookLink(r, tx, id, base); err != nil {
			return err
		}
		page.Views, err = link.ViewsOfUnit(ctx, tx, id)
		return err
	})
	page.Title, page.LinkForm = page.Unit.Name+", "+page.Customer.Name, base.Alone(uuid.NewString(), false)
	return templates.UnitBook(page), err
}

// hoursOnPage is how many ride hours stand on a page of a unit.
const hoursOnPage = 30

// readRiding reads what was said of the riding of a unit, as far as the page shows
// it, and happened to it.
func readRiding(ctx context.Context, q db.Querier, page *templates.UnitBookPage, id int64) error {
	settings, err := shop.Get(ctx, q)
	if err != nil {
		return err
	}
	told, err := interval.ReadTold(ctx, q, settings.Location(), due.SeasonOf(settings), id)
	if err != nil {
		return err
	}
	log := told.Log(id)
	page.Apart, page.Events, page.After = log.Contradictions(), told.Events(id), told.After
	list := log.Used()
	if page.HoursBefore != 0 {
		at := slices.IndexFunc(list, func(u interval.Used) bool { return u.ID == page.HoursBefore })
		if at < 0 {
			return fault.NotFound("There is no such page.")
		}
		list = list[at+1:]
	}
	if page.Ridden = list; len(list) > hoursOnPage {
		page.Ridden, page.EarlierHours = list[:hoursOnPage], list[hoursOnPage-1].ID
	}
	return nil
}

// readBook reads in one snapshot with what the address says: whose book, and
// where its two lists begin.
func (a *App) readBook(r *http.Request, read func(ctx context.Context, tx pgx.Tx, id, before, closed int64) error) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	before, err := pageBefore(r, "before")
	if err != nil {
		return err
	}
	closed, err := pageBefore(r, "closed")
	if err != nil {
		return err
	}
	return db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
		return read(r.Context(), tx, id, before, closed)
	})
}

// detailsForm is that of a customer's details.
var detailsForm = shared{
	fields: customer.DetailFields,
	typed:  func(f *form, field string) string { return f.text(field) },
	fill: func(typed url.Values, to reconcile.Facts) {
		for name, text := range to {
			typed.Set(name, text)
		}
	},
}

func (a *App) changeCustomer(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	was, mine := detailsForm.read(f)
	if err = f.err(); err == nil {
		err = a.act(w, r, "customer details", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			others, err := customer.Change(ctx, tx, by, id, was, mine)
			return customerPath(id, withOthers("details", others)), err
		})
	}
	if err == nil {
		return nil
	}
	return a.again(w, r, f, detailsForm, err, func(base templates.Base, clashes []reconcile.Clash) (templ.Component, error) {
		return a.customerBookPage(r, base, clashes)
	})
}
