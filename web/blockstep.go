package web

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/procedure"
	"damperdesk/internal/spec"
	"damperdesk/templates"
)

func (a *App) blockStep(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.blockStepPage(r.Context(), base, chi.URLParam(r, "code"), r.URL.Query())
	})
}

// blockStepPage is a step of a draft by its key, or a new one behind that of the
// key after.
func (a *App) blockStepPage(ctx context.Context, base templates.Base, code string, asked url.Values) (templ.Component, error) {
	page := templates.BlockStepPage{Base: base, After: asked.Get("after")}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		page.Standing, err = drafting(ctx, tx, code)
		return err
	})
	if err != nil {
		return nil, err
	}
	page.Title = "A step of " + page.Draft.Title
	if key := asked.Get("key"); key != "" {
		step := page.Draft.Step(key)
		if step == nil {
			return nil, fault.NotFound("That step is not in the draft any more.")
		}
		page.Step, page.Shipped = *step, page.Standing.Shipped.Step(key)
	} else {
		page.Step.Kind = procedure.Check
	}
	return templates.BlockStep(page), nil
}

func (a *App) putBlockStep(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	code, version := chi.URLParam(r, "code"), int(f.number("version"))
	step := f.blockStep()
	return a.take(w, r, f, "block: step", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		return blockPath(code, "/draft?done=step"), procedure.PutStep(ctx, tx, by, code, version, step, f.text("after"))
	}, func(base templates.Base) (templ.Component, error) {
		return a.blockStepPage(r.Context(), base, code, f.values)
	})
}

// blockStep reads a step as it was typed; which of it makes sense is
// procedure's.
func (f *form) blockStep() procedure.Step {
	s := procedure.Step{
		Key: f.text("key"), Kind: procedure.Kind(f.text("kind")), Title: f.text("title"), Text: f.text("text"), Caution: f.text("caution"),
		Tools: f.text("tools"), Parts: f.text("parts"),
		Place: strings.Join(f.list("place"), " "), SpecKey: f.text("spec"),
		StopHere: f.ticked("stop"), SecondCheck: f.ticked("second"), MayBeUnknown: f.ticked("unknown"),
	}
	for field, into := range map[string]*int{"minutes": &s.Minutes, "fasteners": &s.Fasteners} {
		if f.text(field) != "" {
			*into = int(f.number(field))
		}
	}
	for _, c := range f.list("condition") {
		if c = plain(c); c != "" {
			s.Conditions = append(s.Conditions, c)
		}
	}
	if i, err := strconv.Atoi(f.text("scale")); err == nil && i >= 0 && i < len(procedure.Scales) {
		s.Grades = procedure.Scales[i]
	}
	return s
}

// blockPreview is the sheet that services of a model would make with the draft
// in force.
func (a *App) blockPreview(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "")
	if err != nil {
		return err
	}
	asked := r.URL.Query()
	page := templates.PreviewPage{Base: base, Chosen: asked["service"], CameAs: asked.Get("came")}
	page.ModelID, _ = strconv.ParseInt(asked.Get("model"), 10, 64)
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		if page.Standing, err = drafting(r.Context(), tx, chi.URLParam(r, "code")); err != nil {
			return err
		}
		if page.Services, err = procedure.Services(r.Context(), tx); err != nil {
			return err
		}
		if page.Models, err = spec.Models(r.Context(), tx); err != nil || len(page.Chosen) == 0 {
			return err
		}
		page.Steps, err = previewed(r.Context(), tx, page)
		return err
	})
	var conflict fault.Conflict
	if errors.As(err, &conflict) {
		page.Refused, err = string(conflict), nil
	}
	if err != nil {
		return err
	}
	page.Title = "Preview of " + page.Draft.Title
	return render(w, r, http.StatusOK, templates.BlockPreview(page))
}

func previewed(ctx context.Context, q db.Querier, page templates.PreviewPage) ([]procedure.Step, error) {
	facts := procedure.Facts{Kind: "fork", CameAs: page.CameAs}
	if page.ModelID != 0 {
		m, sheet, err := readModel(ctx, q, page.ModelID)
		if err != nil {
			return nil, err
		}
		facts = procedure.FactsOf(m, page.CameAs).With(sheet)
	}
	wanted := page.Wanted()
	blocks, err := procedure.Current(ctx, q, wanted)
	if err != nil {
		return nil, err
	}
	if _, brought := blocks[page.Draft.Code]; brought {
		blocks[page.Draft.Code] = page.Draft.Block
	}
	return procedure.Merge(wanted, blocks, facts)
}
