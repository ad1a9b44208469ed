package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/find"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/templates"
)

func customerPath(id int64, done string) string {
	path := "/customers/" + strconv.FormatInt(id, 10)
	if done != "" {
		path += "?done=" + done
	}
	return path
}

// mergeForm has two customers beside each other, or finds the second one.
func (a *App) mergeForm(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	with, _ := strconv.ParseInt(r.URL.Query().Get("with"), 10, 64)
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.mergePage(r.Context(), base, id, with, plain(r.URL.Query().Get("who")))
	})
}

func (a *App) mergePage(ctx context.Context, base templates.Base, id, with int64, who string) (templ.Component, error) {
	page := templates.MergePage{Base: base, Who: who}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Keep, err = customer.Get(ctx, tx, id); err != nil {
			return err
		}
		if with != 0 && with != page.Keep.ID {
			page.Other, err = readOther(ctx, tx, page.Keep, with)
			return err
		}
		found, err := find.All(ctx, tx, who)
		if err != nil {
			return err
		}
		page.Found = slices.DeleteFunc(found.People(foundAtOnce+1), func(p find.Person) bool { return p.ID == page.Keep.ID })
		page.Alike, err = find.LikelySame(ctx, tx, page.Keep.Details(), page.Keep.ID)
		return err
	})
	page.Title = "Merge with " + page.Keep.Name
	return templates.Merge(page), err
}

func readOther(ctx context.Context, q db.Querier, keep customer.Customer, id int64) (*templates.MergeOther, error) {
	var (
		o   templates.MergeOther
		err error
	)
	if o.Customer, err = customer.Get(ctx, q, id); err != nil {
		return nil, err
	}
	if o.ID == keep.ID { // merged meanwhile
		return nil, nil
	}
	if o.Units, err = customer.Units(ctx, q, o.ID); err != nil {
		return nil, err
	}
	o.Done, err = job.ClosedOf(ctx, q, o.ID, 0, 0)
	o.Why = find.Reasons(keep.Details(), o.Details())
	return &o, err
}

func (a *App) merge(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	m := customer.Merge{Into: id, From: f.number("with"), IntoVersion: int(f.number("version")), FromVersion: int(f.number("other"))}
	for _, field := range []string{"name", "phone", "mail", "address"} {
		if f.text(field) == "theirs" {
			m.Theirs = append(m.Theirs, field)
		}
	}
	return a.take(w, r, f, "customers merged", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return customerPath(id, "merge"), customer.Join(ctx, tx, by, m)
	}, func(base templates.Base) (templ.Component, error) {
		return a.mergePage(r.Context(), base, id, m.From, "")
	})
}

// partCustomers takes a merge back.
func (a *App) partCustomers(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	other := f.number("other")
	return a.take(w, r, f, "customers taken apart", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return customerPath(id, "part"), customer.Part(ctx, tx, by, other)
	}, func(base templates.Base) (templ.Component, error) {
		base.Typed = nil // the form of the details was not sent
		return a.customerBookPage(r, base, nil)
	})
}
