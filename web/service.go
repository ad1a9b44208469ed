package web

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/procedure"
	"damperdesk/templates"
)

// serviceDone is what the list says after the form of a service.
var serviceDone = map[string]string{"service": "The service is kept. It has its price on the price list."}

func (a *App) newService(w http.ResponseWriter, r *http.Request) error {
	return a.showService(w, r, "")
}

func (a *App) oneService(w http.ResponseWriter, r *http.Request) error {
	return a.showService(w, r, chi.URLParam(r, "service"))
}

func (a *App) showService(w http.ResponseWriter, r *http.Request, code string) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.madeServicePage(r.Context(), base, code)
	})
}

// madeServicePage is a service by its code, or a new one.
func (a *App) madeServicePage(ctx context.Context, base templates.Base, code string) (templ.Component, error) {
	page := templates.ServicePage{Base: base}
	page.Title = "Make a service"
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.All, err = procedure.Services(ctx, tx); err != nil {
			return err
		}
		page.Blocks, err = procedure.Revisions(ctx, tx, "")
		return err
	})
	if err != nil || code == "" {
		return templates.Service(page), err
	}
	var known bool
	if page.Service, known = procedure.ByCode(page.All, code); !known {
		return nil, fault.NotFound("There is no such service.")
	}
	page.Title = page.Service.Name
	return templates.Service(page), nil
}

func (a *App) putService(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	code := chi.URLParam(r, "service")
	s := procedure.Service{Code: code, Name: f.text("name"), Kinds: f.list("kinds"), Covers: f.list("covers"), OutOfUse: f.ticked("out"), Blocks: f.entries()}
	if code != "" {
		s.Version = int(f.number("version"))
	}
	return a.take(w, r, f, "service", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		_, err := procedure.PutService(ctx, tx, by, s)
		return "/procedures?done=service", err
	}, func(base templates.Base) (templ.Component, error) {
		return a.madeServicePage(r.Context(), base, code)
	})
}

// entries reads the parts of a service and when each is done. A row without its
// part is none.
func (f *form) entries() []string {
	var list []string
	for i := 0; f.values.Has("part." + strconv.Itoa(i)); i++ {
		if name := f.text("part." + strconv.Itoa(i)); name != "" {
			list = append(list, strings.TrimSpace(name+" "+f.text("when."+strconv.Itoa(i))))
		}
	}
	return list
}

// proceduresStand is how blocks and services stand, for the page of the shop.
func proceduresStand(ctx context.Context, q db.Querier, _ templates.Base) (string, error) {
	revisions, err := procedure.Revisions(ctx, q, "")
	if err != nil {
		return "", err
	}
	n := map[string]int{}
	for _, r := range revisions {
		n[r.State]++
		if r.State == procedure.StateCurrent && r.Shipped == 0 {
			n["own"]++
		}
	}
	words := fmt.Sprintf("%d blocks", n[procedure.StateCurrent])
	for _, part := range []struct {
		state, says string
	}{{"own", "%d of the shop’s own"}, {procedure.StateDraft, "%d in a draft"}, {procedure.StateOffered, "newer shipped texts waiting: %d"}} {
		if n[part.state] > 0 {
			words += ", " + fmt.Sprintf(part.says, n[part.state])
		}
	}
	return words, nil
}
