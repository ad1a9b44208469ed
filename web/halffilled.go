package web

import (
	"cmp"
	"context"
	"errors"
	"net/http"
	"net/url"
	"strconv"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/picture"
	"damperdesk/internal/spec"
	"damperdesk/templates"
)

// actFields are those of a form that belong to the act and not to what was
// typed.
var actFields = []string{"intent", "as", "press", "draft", "hand", "version", "told", "another"}

// halfFilled is which draft a form is kept as, which opening of it that is, and at
// which version it was.
type halfFilled struct {
	draft, hand string
	version     int
	filled      *job.Draft // the one that it was filled from
}

// openedAs is how the page was opened that a form comes from.
func openedAs(f *form) halfFilled {
	return halfFilled{draft: f.text("draft"), hand: cmp.Or(f.text("hand"), f.text("intent")), version: int(f.number("version"))}
}

// keptAs is the form after it was kept under that id. One that was kept apart was
// opened at no version of its own.
func (o halfFilled) keptAs(id uuid.UUID) halfFilled {
	if id.String() != o.draft {
		o.draft, o.version = id.String(), 0
	}
	return o
}

func (o halfFilled) on(p *templates.DropOffPage) {
	p.Draft, p.Hand, p.Version, p.Kept = o.draft, o.hand, o.version, o.filled
}

// readForms reads the half-filled forms beside the one on the page, and what that
// one has of pictures and of what somebody else typed.
func readForms(ctx context.Context, q db.Querier, p *templates.DropOffPage) (err error) {
	if p.Drafts, err = job.Drafts(ctx, q); err != nil {
		return err
	}
	if p.Kept != nil {
		if p.Apart, err = apartOf(ctx, q, *p.Kept); err != nil {
			return err
		}
	}
	if p.TakenIn, err = takenIn(ctx, q, p); err != nil {
		return err
	}
	p.Pictures, err = arrived(ctx, q, p.Draft, p.Typed)
	return err
}

// takenIn is the visit that the form on the page was taken in as, where another
// desk had it open too; nil where none was.
func takenIn(ctx context.Context, q db.Querier, p *templates.DropOffPage) (*job.TakenIn, error) {
	id, err := uuid.Parse(p.Draft)
	if err != nil || p.Typed == nil {
		return nil, nil
	}
	return takenFrom(ctx, q, id)
}

func takenFrom(ctx context.Context, q db.Querier, draft uuid.UUID) (*job.TakenIn, error) {
	root, err := job.DraftRoot(ctx, q, draft)
	if err != nil {
		return nil, err
	}
	t, err := job.TakenFrom(ctx, q, root)
	if errors.As(err, new(fault.NotFound)) {
		return nil, nil
	}
	return &t, err
}

// apartOf is a draft beside what it was kept apart from, else beside what somebody
// else kept apart from it; nil where there is neither.
func apartOf(ctx context.Context, q db.Querier, mine job.Draft) (*templates.Apart, error) {
	a := templates.Apart{Mine: mine}
	err := error(fault.NotFound(""))
	if mine.ApartOf != nil {
		a.Theirs, err = job.GetDraft(ctx, q, *mine.ApartOf)
	}
	if errors.As(err, new(fault.NotFound)) {
		a.Theirs, err = job.GoneOnWith(ctx, q, mine.ID)
	}
	if errors.As(err, new(fault.NotFound)) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	if a.Units, err = customer.UnitsByID(ctx, q, append(unitsIn(mine), unitsIn(a.Theirs)...)); err != nil {
		return nil, err
	}
	if a.Models, err = spec.Models(ctx, q); err != nil {
		return nil, err
	}
	a.Mechanics, err = mechanics(ctx, q)
	return &a, err
}

// unitsIn are the units chosen in a draft.
func unitsIn(d job.Draft) (ids []int64) {
	fields, _ := url.ParseQuery(d.Fields)
	for i := range mostUnits {
		if id, err := strconv.ParseInt(fields.Get(unitPrefix(i)+"unit"), 10, 64); err == nil {
			ids = append(ids, id)
		}
	}
	return ids
}

// fillFrom puts a draft that is asked for into the page. One that is gone
// leaves the page empty.
func (a *App) fillFrom(ctx context.Context, base *templates.Base, kept string) (ask asked, err error) {
	d, err := a.draftOf(ctx, kept)
	if errors.As(err, new(fault.NotFound)) {
		base.Done = "That draft is gone: it was taken in or thrown away."
		ask = askedIn(url.Values{}.Get)
		ask.form = halfFilled{draft: uuid.NewString(), hand: uuid.NewString()}
		return ask, nil
	}
	if err != nil {
		return ask, err
	}
	base.Typed, err = url.ParseQuery(d.Fields)
	ask = askedIn(base.Typed.Get)
	ask.form = halfFilled{draft: d.ID.String(), hand: uuid.NewString(), version: d.Version, filled: &d}
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
// nothing but that it is kept, or once with what somebody else typed meanwhile.
func (a *App) keepDraft(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	id, err := a.saveDraft(r, f)
	if err != nil {
		return err
	}
	taken, err := a.takenMeanwhile(r.Context(), id)
	if err != nil {
		return err
	}
	if taken != nil && f.text("told") != templates.ToldTaken {
		return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
			return templates.DraftTaken(base, *taken, id.String()), nil
		})
	}
	apart, err := a.besideDraft(r.Context(), id)
	itself := id.String() == f.text("draft")
	switch {
	case err != nil:
		return err
	case apart == nil && !itself:
		return fault.NotFound("What it was kept apart from is gone.")
	case apart == nil, taken != nil, itself && apart.Theirs.ID.String() == f.text("told"):
		w.WriteHeader(http.StatusNoContent)
		return nil
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return templates.DraftApart(base, *apart), nil
	})
}

// takenMeanwhile is the visit that a draft was taken in as; nil where none was, or
// where it is this form that was.
func (a *App) takenMeanwhile(ctx context.Context, id uuid.UUID) (*job.TakenIn, error) {
	if _, err := job.GetDraft(ctx, a.pool, id); errors.As(err, new(fault.NotFound)) {
		return nil, nil
	}
	return takenFrom(ctx, a.pool, id)
}

// besideDraft is what somebody else typed beside a draft; nil where nobody did, or
// where it is taken in and not kept.
func (a *App) besideDraft(ctx context.Context, id uuid.UUID) (*templates.Apart, error) {
	mine, err := job.GetDraft(ctx, a.pool, id)
	if errors.As(err, new(fault.NotFound)) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return apartOf(ctx, a.pool, mine)
}

// draftAndShow is the same for the button of the form.
func (a *App) draftAndShow(w http.ResponseWriter, r *http.Request, f *form) error {
	id, err := a.saveDraft(r, f)
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/drop-off?done=draft&draft="+id.String(), http.StatusSeeOther)
	return nil
}

// saveDraft says under which id the form is kept.
func (a *App) saveDraft(r *http.Request, f *form) (uuid.UUID, error) {
	d, ok := f.draft()
	act, err := uuid.Parse(f.text("intent"))
	if !ok || err != nil {
		return d.ID, fault.Conflict("The page was too old to send; open it again.")
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
	if d.About, err = a.aboutDraft(r.Context(), f); err != nil {
		return d.ID, err
	}
	d.Fields, d.ActID, d.StaffID, d.KeptAt = fields.Encode(), act, person(r).ID, a.Now().UTC()
	err = db.Write(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		d.ID, err = job.KeepDraft(r.Context(), tx, d)
		return err
	})
	return d.ID, err
}

// draft is what the form is kept as; ok says whether it says so.
func (f *form) draft() (d job.Draft, ok bool) {
	o := openedAs(f)
	id, err := uuid.Parse(o.draft)
	hand, herr := uuid.Parse(o.hand)
	return job.Draft{ID: id, Hand: hand, Version: o.version}, err == nil && herr == nil
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
		d, ok := f.draft()
		if !ok {
			return "", fault.NotFound("There is no such draft.")
		}
		return "/drop-off?done=thrown", ending(ctx, tx, d.ID, func() error { return job.ThrowDraft(ctx, tx, d.ID, d.Version) })
	})
}

// endDraft ends the one the form was kept as, if any.
func (f *form) endDraft(ctx context.Context, tx pgx.Tx) error {
	d, ok := f.draft()
	if !ok {
		return nil
	}
	return ending(ctx, tx, d.ID, func() error { return job.EndDraft(ctx, tx, d) })
}

// comesFrom says which half-filled form the visit comes from.
func (f *form) comesFrom(ctx context.Context, tx pgx.Tx, d *job.DropOff) (err error) {
	if kept, ok := f.draft(); ok {
		d.Draft, err = job.DraftRoot(ctx, tx, kept.ID)
	}
	d.Another = f.ticked("another")
	return err
}

// ending ends a draft and lets go of its pictures, unless another one has them
// too.
func ending(ctx context.Context, tx pgx.Tx, draft uuid.UUID, end func() error) error {
	root, err := job.DraftRoot(ctx, tx, draft)
	if err != nil {
		return err
	}
	if err := end(); err != nil {
		return err
	}
	if some, err := job.AnyDraftOf(ctx, tx, root); err != nil || some {
		return err
	}
	return picture.Forget(ctx, tx, root)
}

var halfFilledDone = map[string]string{
	"draft":  "Kept as a draft.",
	"thrown": "The draft is gone.",
}
