package web

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"net/http"
	"strings"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/letter"
	"damperdesk/internal/link"
	"damperdesk/internal/message"
	"damperdesk/templates"
)

var wordsDone = map[string]string{
	"days":  "The days are set. They count for what comes from now on.",
	"saved": "The words are in force. Messages that wait already go out in them.",
	"back":  "The words that come with the program are in force again.",
}

// messages is what customers are told, and when.
func (a *App) messages(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = wordsDone[r.URL.Query().Get("done")]
		return a.messagesPage(r.Context(), base)
	})
}

func (a *App) messagesPage(ctx context.Context, base templates.Base) (templ.Component, error) {
	base.Title = "What customers are told"
	page := templates.MessagesPage{Base: base}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Templates, err = letter.Templates(ctx, tx); err != nil {
			return err
		}
		page.Setting, err = message.GetSetting(ctx, tx)
		return err
	})
	return templates.Messages(page), err
}

func (a *App) setMessageDays(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	s := message.Setting{FirstRideDays: f.days("firstride"), StillHereDays: f.days("stillhere"), Version: int(f.number("version"))}
	return a.take(w, r, f, "message days", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return "/shop/messages?done=days", message.SetSetting(ctx, tx, by, s)
	}, func(base templates.Base) (templ.Component, error) { return a.messagesPage(r.Context(), base) })
}

// days reads a number of days that has to be there: 0 is never.
func (f *form) days(name string) int {
	if f.text(name) == "" {
		f.wrong(name, "Give days, or 0 for never.")
	}
	return int(min(max(f.number(name), -1), 1000))
}

// kindOf is the kind of messages that the address names.
func kindOf(r *http.Request) (message.Kind, error) {
	for _, k := range message.Kinds {
		if templates.KindPath(k) == chi.URLParam(r, "kind") {
			return k, nil
		}
	}
	return "", fault.NotFound("There is no such kind of message.")
}

func (a *App) words(w http.ResponseWriter, r *http.Request) error {
	kind, err := kindOf(r)
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = wordsDone[r.URL.Query().Get("done")]
		return a.wordsPage(r, base, kind)
	})
}

// wordsPage tries the words on a job, those that were typed where the form comes
// back.
func (a *App) wordsPage(r *http.Request, base templates.Base, kind message.Kind) (templ.Component, error) {
	base.Title = templates.KindTitle(kind) + ": the words"
	page := templates.WordsPage{Base: base, Fields: letter.FieldsOf(kind), Back: base.Alone(uuid.NewString(), false)}
	if base.Typed.Get("press") == "back" {
		base.Typed, page.Typed = nil, nil // it was pressed beside what was typed
	}
	typed := &form{values: base.Typed, faults: map[string]string{}}
	if base.Typed == nil {
		typed.values = r.URL.Query()
	}
	err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		if page.Template, err = letter.Get(r.Context(), tx, kind); err != nil {
			return err
		}
		words := page.Template.Words
		if base.Typed != nil {
			words = letter.Words{Subject: typed.text("subject"), Body: typed.text("body")}
		}
		return a.tryWords(r, tx, &page, words, int(typed.number("ticket")))
	})
	return templates.Words(page), err
}

// tryWords puts what the words would say of that ticket on the page, or with 0
// of the newest that fits. It changes nothing: the address stands without its
// secret where there is none yet.
func (a *App) tryWords(r *http.Request, q db.Querier, page *templates.WordsPage, words letter.Words, ticket int) error {
	sample, ok, err := letter.SampleOf(r.Context(), q, page.Now, page.Template.Kind, ticket)
	if err != nil || !ok {
		page.NoTicket = ticket
		return err
	}
	page.Ticket = sample.Number
	token, ok, err := link.Show(r.Context(), q, a.LinkKey, sample.Message.VisitID, page.Now)
	if err != nil {
		return err
	}
	if !ok {
		token = "…"
	}
	page.Letter, page.Moot, err = letter.Preview(r.Context(), q, page.Now, a.address(r, "/c/"+token), words, sample.Message)
	return err
}

// setWords puts words in force or takes them back; for the button beside it only
// shows what they would say.
func (a *App) setWords(w http.ResponseWriter, r *http.Request) error {
	kind, err := kindOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	draw := func(base templates.Base) (templ.Component, error) { return a.wordsPage(r, base, kind) }
	t := letter.Template{Kind: kind, Version: int(f.number("version")),
		Words: letter.Words{Subject: f.text("subject"), Body: f.text("body")}}
	if f.text("press") == "preview" {
		f.number("ticket")
		maps.Copy(f.faults, t.Check(kind))
		return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
			base.Typed, base.Errors = r.PostForm, f.faults
			return draw(base)
		})
	}
	return a.take(w, r, f, "message words", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		to := templates.WordsPath(kind)
		if f.text("press") == "back" {
			return to + "?done=back", letter.Back(ctx, tx, by, kind, t.Version)
		}
		return to + "?done=saved", letter.Set(ctx, tx, by, t)
	}, draw)
}

var toldDone = map[string]string{"told": "It is kept that they were told. A mail that still waited is not sent any more."}

// tell keeps that a customer was told by voice what a message says.
func (a *App) tell(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	kind, note := message.Kind(f.text("kind")), f.number("message") // 0: none was caused
	return a.take(w, r, f, "told by voice", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		to := visitPath(id) + "?done=told#says"
		switch {
		case note != 0:
			return to, message.TellOf(ctx, tx, by, id, kind, note)
		case !templates.ToldByVoice(kind):
			return "", fault.Conflict("The page was too old to send; open it again.")
		}
		return to, message.TellUncaused(ctx, tx, by, id, kind)
	}, func(base templates.Base) (templ.Component, error) { return a.visitPage(r, base, id, "told") })
}

func messagesStand(ctx context.Context, q db.Querier, _ templates.Base) (string, error) {
	list, err := letter.Templates(ctx, q)
	if err != nil {
		return "", err
	}
	own := 0
	for _, t := range list {
		own += min(t.Version, 1)
	}
	s, err := message.GetSetting(ctx, q)
	when := func(days int, word string) string {
		return cmp.Or(map[bool]string{true: "never " + word}[days == 0], fmt.Sprintf("%s after %d days", word, days))
	}
	words := fmt.Sprintf("%d kinds, %d in your own words", len(list), own)
	return strings.Join([]string{words, when(s.StillHereDays, "still here"), when(s.FirstRideDays, "first ride")}, "; "), err
}
