package web

import (
	"context"
	"net/http"
	"strconv"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/goahead"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/templates"
)

// answersPage is what customers were asked and said nothing to, and who asks to
// be rung.
func (a *App) answersPage(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		if r.URL.Query().Get("done") == "reminded" {
			base.Done = "It is kept that they were reached for."
		}
		return a.answersView(r.Context(), base, 0)
	})
}

func (a *App) answersView(ctx context.Context, base templates.Base, sent int64) (templ.Component, error) {
	base.Title, base.Live = "Answers awaited", "board"
	page := templates.AnswersPage{Base: base}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) error {
		asks, err := goahead.Asks(ctx, tx)
		if err != nil {
			return err
		}
		rows, err := job.Board(ctx, tx, job.BoardFilter{})
		if err != nil {
			return err
		}
		for _, ask := range asks {
			asked := templates.Asked{Ask: ask, Form: base.Alone(uuid.NewString(), ask.ID == sent)}
			for _, row := range rows {
				if row.ID == ask.JobID {
					asked.Unit = row.Unit
				}
			}
			page.Asked = append(page.Asked, asked)
		}
		return nil
	})
	return templates.AwaitedAnswers(page), err
}

// remind keeps that somebody was reached for about a proposal.
func (a *App) remind(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "proposal")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, "reminded", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return "/answers?done=reminded#ask-" + strconv.FormatInt(id, 10), goahead.Remind(ctx, tx, by, id, f.text("how"), f.text("who"))
	}, func(base templates.Base) (templ.Component, error) {
		return a.answersView(r.Context(), base, id)
	})
}
