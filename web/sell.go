package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"unicode/utf8"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/find"
	"damperdesk/internal/history"
	"damperdesk/internal/link"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

// sellForm asks who has a unit now.
func (a *App) sellForm(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.sellPage(r.Context(), base, id, plain(r.URL.Query().Get("who")))
	})
}

func (a *App) sellPage(ctx context.Context, base templates.Base, id int64, who string) (templ.Component, error) {
	page := templates.SellPage{Base: base, Who: who}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Unit, err = customer.GetUnit(ctx, tx, id); err != nil {
			return err
		}
		if page.From, err = customer.Get(ctx, tx, page.Unit.CustomerID); err != nil {
			return err
		}
		found, err := find.All(ctx, tx, who)
		page.Found = slices.DeleteFunc(found.People(foundAtOnce+1), func(p find.Person) bool { return p.ID == page.From.ID || p.ErasedAt != nil })
		return err
	})
	page.Title = "New owner of " + page.Unit.Name
	return templates.Sell(page), err
}

func (a *App) sell(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	to := newOwner{
		answer:  f.text("customer"),
		details: customer.Details{Name: f.text("name"), Phone: f.text("phone"), Mail: f.text("mail")},
	}
	if _, err := strconv.ParseInt(to.answer, 10, 64); err != nil && to.answer != templates.NewOwner && to.answer != templates.UnknownOwner {
		f.wrong("customer", "Choose who has it now.")
	}
	return a.take(w, r, f, "unit sold", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		s, err := shop.Get(ctx, tx)
		if err != nil {
			return "", err
		}
		owner, err := to.keep(ctx, tx, by, id)
		if err != nil {
			return "", err
		}
		if err := customer.Sell(ctx, tx, by, id, owner, s.Location()); err != nil {
			return "", err
		}
		// The unit is locked now: a link that was made meanwhile is seen, and ends too.
		return "/units/" + strconv.FormatInt(id, 10) + "?done=sold", link.RevokeSold(ctx, tx, by, id)
	}, func(base templates.Base) (templ.Component, error) {
		return a.sellPage(r.Context(), base, id, f.text("asked"))
	})
}

// newOwner is who has a unit now: a customer, or somebody who becomes one.
type newOwner struct {
	answer  string
	details customer.Details
}

func (o newOwner) keep(ctx context.Context, tx pgx.Tx, by history.By, unit int64) (int64, error) {
	switch o.answer {
	case templates.NewOwner:
		return customer.Add(ctx, tx, by, o.details)
	case templates.UnknownOwner:
		u, err := customer.GetUnit(ctx, tx, unit)
		if err != nil {
			return 0, err
		}
		return customer.Add(ctx, tx, by, customer.Details{Name: unknownName(u)})
	}
	return strconv.ParseInt(o.answer, 10, 64)
}

// unknownName is what somebody is called who is known by their unit alone.
func unknownName(u customer.Unit) string {
	const most = 120 // characters of a name
	name := "Unknown owner of " + u.Name
	if with := name + ", serial " + u.Serial; u.Serial != "" && utf8.RuneCountInString(with) <= most {
		return with
	}
	return string([]rune(name)[:min(most, utf8.RuneCountInString(name))])
}
