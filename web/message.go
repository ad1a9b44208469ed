package web

import (
	"context"
	"net/http"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/letter"
	"damperdesk/internal/message"
	"damperdesk/templates"
)

// messageDone is what the pages of messages say after each press.
var messageDone = map[string]string{
	"again": "It is sent again.",
	"more":  "It is sent once more, as this new message.",
	"drop":  "It is not sent.",
	"told":  "It is kept that you told them.",
}

// outbox is what was sent and what was not.
func (a *App) outbox(w http.ResponseWriter, r *http.Request) error {
	show := message.Shown(r.URL.Query().Get("show"))
	if !show.Known() {
		return fault.NotFound("There is no such list of messages.")
	}
	before, err := pageBefore(r, "before")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Title, base.Live = "Messages", templates.LiveMessages
		page := templates.OutboxPage{Base: base, Show: show, Before: before, Mail: a.Mail}
		err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
			if page.Quiet, err = message.GetQuiet(r.Context(), tx); err != nil {
				return err
			}
			if page.Stand, err = message.Stand(r.Context(), tx); err != nil {
				return err
			}
			page.List, err = message.List(r.Context(), tx, show, before)
			return err
		})
		return templates.Outbox(page), err
	})
}

// message is one message; of one that is written in another's letter, that one.
func (a *App) message(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	of, err := message.LetterOf(r.Context(), a.pool, id)
	if err != nil {
		return err
	}
	if of != id {
		http.Redirect(w, r, "/messages/"+strconv.FormatInt(of, 10)+"?"+r.URL.RawQuery, http.StatusSeeOther)
		return nil
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = messageDone[r.URL.Query().Get("done")]
		return a.messagePage(r, base)
	})
}

func (a *App) messagePage(r *http.Request, base templates.Base) (templ.Component, error) {
	id, err := a.id(r, "id")
	if err != nil {
		return nil, err
	}
	base.Live = templates.LiveMessages
	page := templates.MessagePage{Base: base, Mail: a.Mail}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		if page.Quiet, err = message.GetQuiet(r.Context(), tx); err != nil {
			return err
		}
		if page.Entry, err = message.Get(r.Context(), tx, id); err != nil || !page.Drafted() {
			return err
		}
		page.Draft, err = letter.DraftOf(r.Context(), tx, base.Now, a.address(r, "/c/…"), id)
		return err
	})
	page.Title = page.Name()
	return templates.Message(page), err
}

// changeMessage is a press on a message; do leads to the message it is about
// then.
func changeMessage(kind string, do func(ctx context.Context, tx pgx.Tx, by history.By, id int64) (int64, error)) handler {
	return func(a *App, w http.ResponseWriter, r *http.Request) error {
		id, err := a.id(r, "id")
		if err != nil {
			return err
		}
		f, err := readForm(r)
		if err != nil {
			return err
		}
		return a.take(w, r, f, "message: "+kind, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			id, err := do(ctx, tx, by, id)
			if err == nil {
				err = a.sendMail(ctx, tx)
			}
			return "/messages/" + strconv.FormatInt(id, 10) + "?done=" + kind, err
		}, func(base templates.Base) (templ.Component, error) { return a.messagePage(r, base) })
	}
}

// sendMail has the outbox looked at soon; without a background it waits.
func (a *App) sendMail(ctx context.Context, tx pgx.Tx) error {
	if a.SendMail == nil {
		return nil
	}
	return a.SendMail(ctx, tx)
}

// theSame makes a press lead back to its message.
func theSame(do func(ctx context.Context, tx pgx.Tx, by history.By, id int64) error) func(context.Context, pgx.Tx, history.By, int64) (int64, error) {
	return func(ctx context.Context, tx pgx.Tx, by history.By, id int64) (int64, error) {
		return id, do(ctx, tx, by, id)
	}
}
