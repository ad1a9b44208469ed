package web

import (
	"context"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/picture"
	"damperdesk/templates"
)

// keepArriving stores the pictures that came with a drop-off, before anything is
// made of the form.
func (a *App) keepArriving(r *http.Request, f *form) ([]int64, error) {
	if r.MultipartForm == nil || len(r.MultipartForm.File) == 0 {
		return nil, nil
	}
	draft, err := uuid.Parse(f.text("draft"))
	if err != nil {
		return nil, fault.Conflict("The page was too old to send; open it again.")
	}
	if draft, err = job.DraftRoot(r.Context(), a.pool, draft); err != nil {
		return nil, err
	}
	return a.keepPictures(r, f, func(string) shot { return shot{draft: draft} })
}

// addArriving keeps pictures of a drop-off for the script, and answers with what
// goes into the form.
func (a *App) addArriving(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	kept, err := a.keepArriving(r, f)
	if err != nil {
		return err
	}
	if len(kept) == 0 && len(f.faults) == 0 {
		f.wrong("file", "Take or choose a picture first.")
	}
	return a.keptPart(w, r, f, kept, picture.GetWaiting, templates.WaitingPicture)
}

// arrivingPicture makes the handler of one size of a picture that waits.
func arrivingPicture(wanted size) handler {
	return func(a *App, w http.ResponseWriter, r *http.Request) error {
		id, err := a.id(r, "id")
		if err != nil {
			return err
		}
		p, err := picture.GetWaiting(r.Context(), a.pool, id)
		if err != nil {
			return err
		}
		return a.sendPicture(w, r, wanted(p))
	}
}

// picturesIn are the fields of a drop-off that name pictures.
func picturesIn(fields url.Values) []string {
	none := func(name string) bool { return !strings.HasSuffix(name, ".picture") }
	return slices.DeleteFunc(slices.Collect(maps.Keys(fields)), none)
}

// arrived reads the pictures that a form has already.
func arrived(ctx context.Context, q db.Querier, draft string, typed url.Values) ([]picture.Picture, error) {
	id, err := uuid.Parse(draft)
	var ids []int64
	for _, name := range picturesIn(typed) {
		ids = append(ids, (&form{values: typed}).ids(name)...)
	}
	if err != nil || len(ids) == 0 {
		return nil, nil
	}
	if id, err = job.DraftRoot(ctx, q, id); err != nil {
		return nil, err
	}
	return picture.Waiting(ctx, q, id, ids)
}

// receive gives each job of a visit the pictures of its unit.
func (f *form) receive(ctx context.Context, tx pgx.Tx, by history.By, visit int64) error {
	draft, err := uuid.Parse(f.text("draft"))
	if err != nil || len(picturesIn(f.values)) == 0 {
		return nil
	}
	if draft, err = job.DraftRoot(ctx, tx, draft); err != nil {
		return err
	}
	v, err := job.Visit(ctx, tx, visit)
	if err != nil {
		return err
	}
	for i, j := range v.Jobs {
		if err := picture.Receive(ctx, tx, by, draft, j.ID, f.ids(unitPrefix(i)+"picture")); err != nil {
			return err
		}
	}
	return nil
}
