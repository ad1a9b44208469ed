package web

import (
	"cmp"
	"context"
	"errors"
	"net/http"
	"net/url"
	"strconv"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/picture"
	"damperdesk/templates"
)

// actFields are those of a form that belong to the act and not to what was
// typed.
var actFields = []string{"intent", "as", "press", "draft"}

// fillFrom puts a draft that is asked for into the page. One that is gone
// leaves the page empty.
func (a *App) fillFrom(ctx context.Context, base *templates.Base, kept string) (ask asked, err error) {
	d, err := a.draftOf(ctx, kept)
	if errors.As(err, new(fault.NotFound)) {
		base.Done = "That draft is gone: it was taken in or thrown away."
		ask = askedIn(url.Values{}.Get)
		ask.draft = uuid.NewString()
		return ask, nil
	}
	if err != nil {
		return ask, err
	}
	base.Typed, err = url.ParseQuery(d.Fields)
	ask = askedIn(base.Typed.Get)
	ask.draft = kept
	return ask, err
}

func (a *App) draftOf(ctx context.Context, asked string) (job.Draft, error) {
	id, err := uuid.Parse(asked)
	if err != nil {
		return job.Draft{}, fault.NotFound("There is no such draft.")
	}
	return job.GetDraft(ctx, a.pool, id)
}

// keepDraft keeps the form as it is typed, for the script. It answers with
// nothing but that it is kept.
func (a *App) keepDraft(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	if _, err := a.saveDraft(r, f); err != nil {
		return err
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// draftAndShow is the same for the button of the form.
func (a *App) draftAndShow(w http.ResponseWriter, r *http.Request, f *form) error {
	id, err := a.saveDraft(r, f)
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/drop-off?done=draft&draft="+id, http.StatusSeeOther)
	return nil
}

func (a *App) saveDraft(r *http.Request, f *form) (string, error) {
	id, err := uuid.Parse(f.text("draft"))
	act, aerr := uuid.Parse(f.text("intent"))
	if err != nil || aerr != nil {
		return "", fault.Conflict("The page was too old to send; open it again.")
	}
	fields := url.Values{}
	for name, values := range f.values {
		for _, v := range values {
			fields.Add(name, plain(v))
		}
	}
	for _, name := range actFields {
		fields.Del(name)
	}
	about, err := a.aboutDraft(r.Context(), f)
	if err != nil {
		return "", err
	}
	err = db.Write(r.Context(), a.pool, func(tx pgx.Tx) error {
		return job.KeepDraft(r.Context(), tx, job.Draft{ID: id, About: about, Fields: fields.Encode(), ActID: act,
			StaffID: person(r).ID, KeptAt: a.Now().UTC()})
	})
	return id.String(), err
}

// aboutDraft says whose drop-off it is, as far as that was typed.
func (a *App) aboutDraft(ctx context.Context, f *form) (string, error) {
	id, err := strconv.ParseInt(f.text("customer"), 10, 64)
	if err == nil {
		c, err := customer.Get(ctx, a.pool, id)
		if err == nil || !errors.As(err, new(fault.NotFound)) {
			return c.Name, err
		}
	}
	return cmp.Or(f.text("name"), f.text("who"), "nobody named yet"), nil
}

// throwDraft takes a draft away for good.
func (a *App) throwDraft(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	return a.act(w, r, "draft thrown away", func(ctx context.Context, tx pgx.Tx, _ history.By) (string, error) {
		return "/drop-off?done=thrown", f.endDraft(ctx, tx)
	})
}

// endDraft ends the one the form was kept as, if any.
func (f *form) endDraft(ctx context.Context, tx pgx.Tx) error {
	id, err := uuid.Parse(f.text("draft"))
	if err != nil {
		return nil
	}
	if err := picture.Forget(ctx, tx, id); err != nil {
		return err
	}
	return job.EndDraft(ctx, tx, id)
}

var halfFilledDone = map[string]string{
	"draft":  "Kept as a draft.",
	"thrown": "The draft is gone.",
}
