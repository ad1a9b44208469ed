package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/goahead"
	"damperdesk/internal/history"
	"damperdesk/internal/icalfile"
	"damperdesk/internal/job"
	"damperdesk/internal/link"
	"damperdesk/internal/summary"
	"damperdesk/templates"
)

// customerPage is the page behind a customer's link. Looking changes nothing of the
// work, and no search engine keeps it.
func (a *App) customerPage(w http.ResponseWriter, r *http.Request) error {
	var at templates.Base
	err := a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		at = base
		base.Done = templates.CustomerDone(r.URL.Query().Get("done"))
		return a.customerView(r, base, "")
	})
	if err == nil {
		a.viewed(r, chi.URLParam(r, "token"), at.Now, at.Prefs.Zone)
	}
	return err
}

// customerView shows what was typed in the form that was sent, if any.
func (a *App) customerView(r *http.Request, base templates.Base, sent string) (templ.Component, error) {
	page, err := a.readCustomer(r, base)
	form := func(name string) templates.Base { return page.Base.Alone(uuid.NewString(), sent == name) }
	page.Asked, page.Later, page.Reads = form(templates.FormAsked), form(templates.FormLater), form(templates.FormReads)
	return templates.Customer(page), err
}

// readCustomer reads a visit for whoever has its link, who is nobody of the shop here
// and reads in their own way.
func (a *App) readCustomer(r *http.Request, base templates.Base) (templates.CustomerPage, error) {
	page := templates.CustomerPage{Base: base, Token: chi.URLParam(r, "token")}
	page.Person = templates.Person{}
	err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
		visit, err := link.Open(r.Context(), tx, page.Token, base.Now)
		if err != nil {
			return err
		}
		page.Summary, err = summary.Visit(r.Context(), tx, visit, base.Now)
		return err
	})
	page.Prefs = page.Prefs.For(page.Way)
	return page, err
}

// answerOnPage keeps what a customer says to what is proposed.
func (a *App) answerOnPage(w http.ResponseWriter, r *http.Request) error {
	return a.actOnPage(w, r, "answer on page", (*form).answersOnPage)
}

// readInWay keeps how the customer of a visit reads what the shop writes.
func (a *App) readInWay(w http.ResponseWriter, r *http.Request) error {
	return a.actOnPage(w, r, "way of reading", func(f *form, ctx context.Context, tx pgx.Tx, by history.By, visit int64) (string, error) {
		v, err := job.Visit(ctx, tx, visit)
		if err != nil {
			return "", err
		}
		return "way", f.with(customer.SetWay(ctx, tx, by, v.CustomerID, f.way()))
	})
}

func (f *form) way() customer.Way {
	way := customer.Way{Version: int(f.number("version"))}
	for _, field := range customer.WayFields {
		way.Set(field.Name, f.text(field.Name))
	}
	return way
}

// actOnPage does what a form of a customer's page asks for. Where the act led is stored,
// so it says no more than what was done: the address is a secret.
func (a *App) actOnPage(w http.ResponseWriter, r *http.Request, kind string,
	do func(f *form, ctx context.Context, tx pgx.Tx, by history.By, visit int64) (string, error)) error {

	token := chi.URLParam(r, "token")
	if _, err := link.Open(r.Context(), a.pool, token, a.Now()); err != nil {
		return err // whatever was sent
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	done, err := a.do(r, kind, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		visit, err := link.Open(ctx, tx, token, by.At)
		if err != nil {
			return "", err
		}
		return do(f, ctx, tx, by, visit)
	})
	if err != nil {
		return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) {
			return a.customerView(r, base, f.text("form"))
		})
	}
	http.Redirect(w, r, "/c/"+token+"?done="+done, http.StatusSeeOther)
	return nil
}

// customerCard is the settings of a visit to print.
func (a *App) customerCard(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "")
	if err != nil {
		return err
	}
	page, err := a.readCustomer(r, base)
	if err != nil {
		return err
	}
	if !page.HasCard() {
		return notYet(w, r, page.Token, "no-card")
	}
	return render(w, r, http.StatusOK, templates.CustomerCard(page))
}

// notYet leads from an address that has nothing on it now to the page of its visit,
// where the link works as ever.
func notYet(w http.ResponseWriter, r *http.Request, token, done string) error {
	http.Redirect(w, r, "/c/"+token+"?done="+done, http.StatusSeeOther)
	return nil
}

// customerCalendar makes the handler of a file of events for a calendar.
func customerCalendar(name string, events func(templates.CustomerPage) []icalfile.Event) handler {
	return func(a *App, w http.ResponseWriter, r *http.Request) error {
		base, err := a.base(r, "")
		if err != nil {
			return err
		}
		page, err := a.readCustomer(r, base)
		if err != nil {
			return err
		}
		list := events(page)
		if len(list) == 0 {
			return notYet(w, r, page.Token, "no-events")
		}
		data, err := icalfile.Write(list)
		if err != nil {
			return err
		}
		w.Header().Set("Content-Type", icalfile.ContentType)
		w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
		_, err = w.Write(data)
		return err
	}
}

// answersOnPage keeps each answer of the form; what a field begins with "said." is the
// number of a proposal.
func (f *form) answersOnPage(ctx context.Context, tx pgx.Tx, by history.By, visit int64) (done string, err error) {
	ids, first := f.proposalsSaid()
	if len(ids) == 0 {
		f.wrong(first, templates.ChooseAnswer)
		return "", f.err()
	}
	for _, id := range ids {
		key := strconv.FormatInt(id, 10)
		switch said := f.text("said." + key); said {
		case "yes", "no":
			done = "answered"
			err = goahead.AnswerOnPage(ctx, tx, by, visit, goahead.Said{ProposalID: id, Over: f.number("over." + key), Yes: said == "yes", Who: f.text("who")})
		case "call":
			done = "call"
			err = goahead.AskCall(ctx, tx, by, visit, id, f.text("who"), f.text("words"))
		default:
			err = nil
			f.wrong("said."+key, templates.ChooseAnswer)
		}
		if err := f.with(err); err != nil {
			return "", err
		}
	}
	return done, nil
}

// proposalsSaid lists the proposals that are answered, in their order, and the field of
// the first one that was asked.
func (f *form) proposalsSaid() (ids []int64, first string) {
	first = "said"
	for name := range f.values {
		if key, ok := strings.CutPrefix(name, "over."); ok && (first == "said" || "said."+key < first) {
			first = "said." + key
		}
		key, ok := strings.CutPrefix(name, "said.")
		if id, err := strconv.ParseInt(key, 10, 64); ok && err == nil {
			ids = append(ids, id)
		}
	}
	slices.Sort(ids)
	return ids, first
}
