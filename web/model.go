package web

import (
	"context"
	"math"
	"net/http"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
	"damperdesk/templates"
)

func (a *App) models(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Spec sheets")
	if err != nil {
		return err
	}
	list, err := spec.Models(r.Context(), a.pool)
	if err != nil {
		return err
	}
	if r.URL.Query().Get("done") == "csv" {
		base.Done = "The file is taken in. Its values wait on drafts for a second person."
	}
	return render(w, r, http.StatusOK, templates.Models(templates.ModelsPage{Base: base, Models: list}))
}

// modelDone is what the page of a model says after each of its forms.
var modelDone = map[string]string{
	"added":   "Added. Name the documents its values come from, then draft its spec sheet.",
	"change":  "It is corrected.",
	"checked": "The revision is in force. Bench sheets that are started from now on take it.",
	"drop":    "The draft is thrown away.",
}

func modelPath(id int64, done string) string {
	return "/models/" + strconv.FormatInt(id, 10) + "?done=" + done
}

func (a *App) model(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = modelDone[r.URL.Query().Get("done")]
		page := templates.ModelPage{Base: base}
		err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
			if page.Model, page.Sheet, err = readModel(r.Context(), tx, id); err != nil {
				return err
			}
			if page.Missing, err = lacking(r.Context(), tx, page.Model, page.Sheet); err != nil {
				return err
			}
			if page.Documents, err = spec.Documents(r.Context(), tx, id); err != nil {
				return err
			}
			page.Revisions, err = spec.Revisions(r.Context(), tx, id)
			return err
		})
		page.Title = page.Model.Title()
		return templates.Model(page), err
	})
}

// readModel reads a model with its current sheet, which may not be there.
func readModel(ctx context.Context, q db.Querier, id int64) (spec.Model, spec.Sheet, error) {
	m, err := spec.GetModel(ctx, q, id)
	if err != nil || m.Revision == 0 {
		return m, spec.Sheet{}, err
	}
	sheet, err := spec.Current(ctx, q, id)
	return m, sheet, err
}

// lacking are the torques and volumes that the shop's services ask of such a
// model and its sheet does not have.
func lacking(ctx context.Context, q db.Querier, m spec.Model, sheet spec.Sheet) ([]procedure.Ask, error) {
	services, err := procedure.Services(ctx, q)
	if err != nil {
		return nil, err
	}
	blocks, err := procedure.Current(ctx, q, services)
	if err != nil {
		return nil, err
	}
	return procedure.Lacking(procedure.Offered(services), blocks, m, sheet)
}

// sheetRevision shows any revision, with what it changed to the one before or
// to the one asked for.
func (a *App) sheetRevision(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	revision, err := a.id(r, "revision")
	if err != nil || revision > math.MaxInt32 {
		return fault.NotFound("There is no such spec sheet.")
	}
	with, _ := strconv.ParseInt(r.URL.Query().Get("with"), 10, 32)
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		page := templates.RevisionPage{ModelPage: templates.ModelPage{Base: base}}
		err := db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
			return readRevision(r.Context(), tx, &page, id, int(revision), int(with))
		})
		page.Title = page.Model.Title() + ", revision " + strconv.FormatInt(revision, 10)
		return templates.Revision(page), err
	})
}

func readRevision(ctx context.Context, tx pgx.Tx, page *templates.RevisionPage, id int64, revision, with int) (err error) {
	if page.Model, err = spec.GetModel(ctx, tx, id); err != nil {
		return err
	}
	if page.Sheet, err = spec.Revision(ctx, tx, id, revision); err != nil {
		return err
	}
	if page.Revisions, err = spec.Revisions(ctx, tx, id); err != nil {
		return err
	}
	if with == 0 || with == revision {
		with = earlier(page.Revisions, revision)
	}
	if with == 0 {
		return nil
	}
	page.With, err = spec.Revision(ctx, tx, id, with)
	return err
}

// earlier is the newest revision before one; 0 for none. Numbers can be missing
// where a draft was thrown away.
func earlier(revisions []spec.Sheet, revision int) int {
	for _, s := range revisions {
		if s.Revision < revision {
			return s.Revision
		}
	}
	return 0
}

func newModelPage(base templates.Base) (templ.Component, error) {
	base.Title = "Add a model"
	return templates.NewModel(base), nil
}

func (a *App) newModel(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, newModelPage)
}

func (a *App) addModel(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	return a.take(w, r, f, "model added", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		id, err := spec.AddModel(ctx, tx, by, f.model())
		return modelPath(id, "added"), f.with(err)
	}, newModelPage)
}

func (f *form) model() spec.Model {
	m := spec.Model{
		Kind: f.text("kind"), Maker: f.text("maker"), Name: f.text("name"), Years: f.text("years"),
		Spring: f.text("spring"), Damper: f.text("damper"), SpringLeg: f.text("spring_leg"), DamperLeg: f.text("damper_leg"),
		Lowers: f.text("lowers"), Adjusters: f.list("adjusters"), Positions: strings.Split(f.text("positions"), ","),
	}
	if travel := f.quantity("travel", quantity.KindLength, quantity.Millimetre); travel != nil {
		mm := int(math.Round(min(travel.SI*1000, 1e6)))
		m.TravelMM = &mm
	}
	m.Build = f.build()
	return m
}

// build reads how a fork fits a bike; a wheel size that is none of the list is
// refused as one of 0.
func (f *form) build() spec.Build {
	b := spec.Build{Crowns: f.text("crowns"), Steerer: f.text("steerer"), Axle: f.text("axle")}
	if wheel := f.text("wheel"); wheel != "" {
		mm, _ := strconv.ParseInt(wheel, 10, 32)
		known := int(mm)
		b.WheelMM = &known
	}
	if stanchion := f.quantity("stanchion", quantity.KindLength, quantity.Millimetre); stanchion != nil {
		mm := math.Round(stanchion.SI*1e5) / 100 // to the hundredth that a micrometer shows
		b.StanchionMM = &mm
	}
	return b
}

func (a *App) modelForms(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.modelFormsPage(r.Context(), base, id, "")
	})
}

func (a *App) modelFormsPage(ctx context.Context, base templates.Base, id int64, sent string) (templ.Component, error) {
	form := func(name string) templates.Base { return base.Alone(uuid.NewString(), sent == name) }
	page := templates.ModelFormsPage{Base: base, Change: form("change"), Document: form("documents"), Away: form("documents/remove")}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Model, err = spec.GetModel(ctx, tx, id); err != nil {
			return err
		}
		if page.Ties, err = spec.Tied(ctx, tx, id); err != nil {
			return err
		}
		page.Documents, err = spec.Documents(ctx, tx, id)
		return err
	})
	page.Title = "Change " + page.Model.Title()
	return templates.ModelForms(page), err
}

// changeModel makes the handler of the form called name on the page that
// changes a model; to is where it leads.
func changeModel(name string, do change, to func(id int64) string) handler {
	return changeBy("model: "+name, do, to, func(a *App, ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
		return a.modelFormsPage(ctx, base, id, name)
	})
}

func toModel(done string) func(id int64) string {
	return func(id int64) string { return modelPath(id, done) }
}

func toModelForms(id int64) string {
	return "/models/" + strconv.FormatInt(id, 10) + "/change#documents"
}

func correctModel(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
	return f.with(spec.ChangeModel(ctx, tx, by, id, version, f.model()))
}

func addDocument(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, f *form) error {
	_, err := spec.AddDocument(ctx, tx, by, id, f.text("title"), f.text("edition"))
	return err
}

func removeDocument(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, f *form) error {
	document := f.number("document")
	if err := f.err(); err != nil {
		return err
	}
	return spec.RemoveDocument(ctx, tx, by, id, document)
}
