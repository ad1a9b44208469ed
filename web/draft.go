package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strconv"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
	"damperdesk/templates"
)

// draftDone is what the page of a draft says after each of its forms.
var draftDone = map[string]string{
	"begin":  "The draft is begun.",
	"value":  "The value is on the draft.",
	"remove": "The value is off the draft.",
	"chart":  "The set-up chart is on the draft as it stands below.",
}

func toDraft(done string) func(id int64) string {
	return func(id int64) string { return "/models/" + strconv.FormatInt(id, 10) + "/draft?done=" + done }
}

func (a *App) draft(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = draftDone[r.URL.Query().Get("done")]
		return a.draftPage(r.Context(), base, id)
	})
}

// draftPage shows the draft of a model's next revision, or how one is begun.
func (a *App) draftPage(ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
	page := templates.DraftPage{Base: base, Drop: base.Alone(uuid.NewString(), false)}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if err = readDraft(ctx, tx, &page, id); err != nil || page.Draft.ID == 0 {
			return err
		}
		page.Missing, err = lacking(ctx, tx, page.Model, page.Draft)
		return err
	})
	page.Title = page.Model.Title() + ", next revision"
	return templates.Draft(page), err
}

// readDraft reads the draft, if there is one, beside the sheet in force, and
// whether whoever looks at it may check it.
func readDraft(ctx context.Context, q db.Querier, page *templates.DraftPage, id int64) (err error) {
	if page.Model, page.Current, err = readModel(ctx, q, id); err != nil {
		return err
	}
	page.Draft, err = spec.Draft(ctx, q, id)
	if errors.As(err, new(fault.NotFound)) {
		return nil
	}
	if err != nil {
		return err
	}
	page.Differences = spec.Differences(page.Current, page.Draft)
	if page.Editors, err = spec.Editors(ctx, q, page.Draft.ID); err != nil {
		return err
	}
	page.Alone, err = spec.Alone(ctx, q, page.Draft.ID, page.Person.ID)
	var conflict fault.Conflict
	if errors.As(err, &conflict) {
		page.NotMine = string(conflict)
		return nil
	}
	return err
}

// changeDraft makes the handler of a form about a model's draft, which again
// shows.
func changeDraft(name string, do change, to func(id int64) string,
	again func(*App, context.Context, templates.Base, int64) (templ.Component, error)) handler {
	return changeBy("sheet: "+name, do, to, again)
}

// drafted is the draft that a form was about.
func drafted(ctx context.Context, q db.Querier, modelID int64, f *form) (spec.Sheet, error) {
	sheet := f.number("sheet")
	if err := f.err(); err != nil {
		return spec.Sheet{}, err
	}
	draft, err := spec.Draft(ctx, q, modelID)
	if errors.As(err, new(fault.NotFound)) || err == nil && draft.ID != sheet {
		return spec.Sheet{}, fault.Conflict("That draft is there no more: it was checked or thrown away. Open the model again.")
	}
	return draft, err
}

func beginDraft(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, f *form) error {
	_, err := spec.BeginDraft(ctx, tx, by, id, f.text("from") != "empty")
	return err
}

func dropDraft(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
	draft, err := drafted(ctx, tx, id, f)
	if err != nil {
		return err
	}
	return spec.DropDraft(ctx, tx, by, draft.ID, version)
}

func (a *App) draftCheck(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.draftCheckPage(r.Context(), base, id)
	})
}

func (a *App) draftCheckPage(ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
	page := templates.DraftPage{Base: base}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) error { return readDraft(ctx, tx, &page, id) })
	if err == nil && page.Draft.ID == 0 {
		err = fault.NotFound("Nobody is at another revision of this sheet.")
	}
	page.Title = "Check " + page.Model.Title()
	return templates.DraftCheck(page), err
}

func checkDraft(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
	draft, err := drafted(ctx, tx, id, f)
	if err != nil {
		return err
	}
	return spec.CheckDraft(ctx, tx, by, draft.ID, version, f.list("compared"))
}

// valueAsked names the value that a form is about, in its address or in what it
// sent.
type valueAsked struct {
	key, place string
	value      int64
}

func valueOf(f *form) valueAsked {
	value, _ := strconv.ParseInt(f.text("value"), 10, 64)
	return valueAsked{key: f.text("key"), place: f.text("place"), value: value}
}

// on finds the value on the draft, -1 for a new one. A key that has one place
// only, and stands there already, is that one.
func (of valueAsked) on(draft spec.Sheet, m spec.Model) int {
	return slices.IndexFunc(draft.Values, func(v spec.Value) bool {
		if of.value != 0 {
			return v.ID == of.value
		}
		k, _ := spec.Find(of.key)
		places := k.Places(m)
		return v.Key == of.key && len(places) == 1 && v.Place == places[0]
	})
}

func (a *App) valueForm(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	of := valueOf(&form{values: r.URL.Query()})
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.valuePage(r.Context(), base, id, of, "")
	})
}

// valuePage asks for a value of a draft: one that stands on it, or another of a
// key. A new one comes from the document that the last one came from.
func (a *App) valuePage(ctx context.Context, base templates.Base, id int64, of valueAsked, sent string) (templ.Component, error) {
	form := func(name string) templates.Base { return base.Alone(uuid.NewString(), sent == name) }
	page := templates.ValuePage{Base: base, Put: form("value"), Remove: form("remove")}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Model, err = spec.GetModel(ctx, tx, id); err != nil {
			return err
		}
		if page.Draft, err = spec.Draft(ctx, tx, id); err != nil {
			return err
		}
		page.Documents, err = spec.Documents(ctx, tx, id)
		return err
	})
	if err != nil {
		return nil, err
	}
	switch i := of.on(page.Draft, page.Model); {
	case i >= 0:
		page.Value = page.Draft.Values[i]
	case len(page.Draft.Values) > 0:
		last := page.Draft.Values[len(page.Draft.Values)-1]
		page.Value = spec.Value{Key: of.key, Place: of.place, Fluid: fluidFor(page.Draft, of.key), SourceKind: last.SourceKind, DocumentID: last.DocumentID}
	default:
		page.Value = spec.Value{Key: of.key, Place: of.place}
	}
	var known bool
	if page.Key, known = spec.Find(page.Value.Key); !known {
		return nil, fault.NotFound("A spec sheet has no such value.")
	}
	page.Title = page.Key.Name + ", " + page.Model.Title()
	return templates.DraftValue(page), nil
}

// fluidFor is the fluid that the draft names for the same oil in another leg.
func fluidFor(draft spec.Sheet, key string) string {
	for _, v := range draft.Values {
		if v.Key == key {
			return v.Fluid
		}
	}
	return ""
}

// putValue reads a value as it was typed.
func (a *App) putValue(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "")
	if err != nil {
		return err
	}
	do := func(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
		draft, err := drafted(ctx, tx, id, f)
		if err != nil {
			return err
		}
		v := f.specValue(base.Prefs)
		if err := f.err(); err != nil {
			return err
		}
		return spec.PutValue(ctx, tx, by, draft.ID, version, valueOf(f).value, v)
	}
	return changeDraft("value", do, toDraft("value"), againAtValue(r, "value"))(a, w, r)
}

func (a *App) removeValue(w http.ResponseWriter, r *http.Request) error {
	do := func(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
		draft, err := drafted(ctx, tx, id, f)
		if err != nil {
			return err
		}
		return spec.RemoveValue(ctx, tx, by, draft.ID, version, valueOf(f).value)
	}
	return changeDraft("remove", do, toDraft("remove"), againAtValue(r, "remove"))(a, w, r)
}

func againAtValue(r *http.Request, sent string) func(*App, context.Context, templates.Base, int64) (templ.Component, error) {
	return func(a *App, ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
		return a.valuePage(ctx, base, id, valueOf(&form{values: r.PostForm}), sent)
	}
}

// specValue reads the value of one key with its source.
func (f *form) specValue(prefs templates.Prefs) spec.Value {
	k, known := spec.Find(f.text("key"))
	if !known {
		f.wrong("key", "Choose what the value is from the list.")
		return spec.Value{}
	}
	v, err := k.Parse(f.text("nominal"), prefs.Unit(k.Kind))
	var bad *quantity.ParseError
	switch {
	case errors.As(err, &bad):
		f.wrong("nominal", bad.Error())
	case v.MinusSI > v.NominalSI:
		f.wrong("nominal", "The window cannot begin below zero.")
	}
	v.Place, v.Fluid, v.Sure = f.text("place"), f.text("fluid"), f.ticked("sure")
	v.SourceKind = f.text("source")
	if v.SourceKind == spec.FromDocument && f.values.Has("document") {
		document := f.number("document")
		v.DocumentID, v.Page = &document, f.text("page")
	} else {
		v.SourceWords = f.text("words")
	}
	return v
}
