package web

import (
	"context"
	"net/http"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/message"
	"damperdesk/templates"
)

// wanted is the page behind a message's address, where its reader says what they
// want to be written. Looking changes nothing.
func (a *App) wanted(w http.ResponseWriter, r *http.Request) error {
	w.Header().Set("X-Robots-Tag", "noindex, nofollow")
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		if r.URL.Query().Get("done") != "" {
			base.Done = templates.WantedDone
		}
		return a.wantedPage(r, base)
	})
}

func (a *App) wantedPage(r *http.Request, base templates.Base) (templ.Component, error) {
	base.Title, base.Person = "What we write to you", templates.Person{}
	page := templates.WantedPage{Base: base, Token: chi.URLParam(r, "token")}
	err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
		customer, kind, err := message.Open(r.Context(), tx, a.LinkKey, page.Token)
		if err != nil {
			return err
		}
		page.Kind = kind
		page.Wanted, err = message.Wanted(r.Context(), tx, customer)
		return err
	})
	return templates.Wanted(page), err
}

// sayWanted keeps what is ticked. With List-Unsubscribe=One-Click it comes from
// the reader's mail server by RFC 8058: no cookie and no form of ours, in either
// encoding, and it withdraws the kind of the message.
func (a *App) sayWanted(w http.ResponseWriter, r *http.Request) error {
	w.Header().Set("X-Robots-Tag", "noindex, nofollow")
	token := chi.URLParam(r, "token")
	if _, _, err := message.Open(r.Context(), a.pool, a.LinkKey, token); err != nil {
		return err // whatever was sent
	}
	if err := readBody(r); err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	oneClick := f.text("List-Unsubscribe") == "One-Click"
	if oneClick {
		r.PostForm.Set("intent", uuid.NewString()) // a second one finds that nothing is to be done
	}
	_, err = a.do(r, "messages wanted", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		customer, kind, err := message.Open(ctx, tx, a.LinkKey, token)
		if err != nil {
			return "", err
		}
		if oneClick {
			return "", message.Say(ctx, tx, by, customer, kind, false, message.InMail)
		}
		return "", message.SayAll(ctx, tx, by, customer, f.kinds("kind"), message.OnPage)
	})
	if err != nil {
		return a.redisplay(w, r, err, func(base templates.Base) (templ.Component, error) { return a.wantedPage(r, base) })
	}
	if oneClick {
		w.WriteHeader(http.StatusNoContent)
		return nil
	}
	http.Redirect(w, r, "/m/"+token+"?done=kept", http.StatusSeeOther)
	return nil
}

// kinds are those that are ticked under that name.
func (f *form) kinds(name string) map[message.Kind]bool {
	kinds := map[message.Kind]bool{}
	for _, k := range f.list(name) {
		kinds[message.Kind(k)] = true
	}
	return kinds
}

// customerWants keeps at the desk what a customer says they want to be written.
func (a *App) customerWants(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, "customer messages", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return customerPath(id, "messages"), message.SayAll(ctx, tx, by, id, f.kinds("kind"), message.AtDesk)
	}, func(base templates.Base) (templ.Component, error) { return a.customerBookPage(r, base, nil) })
}
