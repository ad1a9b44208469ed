package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"

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

func (a *App) chartForm(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.chartPage(r.Context(), base, id)
	})
}

// chartPage asks for the set-up chart of a draft. A new one comes from the
// document that the last value came from.
func (a *App) chartPage(ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
	page := templates.SetupFormPage{ValuePage: templates.ValuePage{Base: base, Put: base.Alone(uuid.NewString(), true)}}
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
	page.Key, _ = spec.Find("rider pressure")
	page.Value = page.Draft.Setup.From
	if n := len(page.Draft.Values); len(page.Draft.Setup.Rows) == 0 && n > 0 {
		last := page.Draft.Values[n-1]
		page.Value = spec.Value{SourceKind: last.SourceKind, DocumentID: last.DocumentID}
	}
	page.Title = "Set-up chart, " + page.Model.Title()
	return templates.SetupForm(page), nil
}

// putChart reads a chart as it was typed.
func (a *App) putChart(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "")
	if err != nil {
		return err
	}
	do := func(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
		draft, err := drafted(ctx, tx, id, f)
		if err != nil {
			return err
		}
		s, at := f.setup(base.Prefs)
		if err := f.err(); err != nil {
			return err
		}
		return f.atRows(spec.PutSetup(ctx, tx, by, draft.ID, version, s), at)
	}
	return changeDraft("chart", do, toDraft("chart"), (*App).chartPage)(a, w, r)
}

// mostSetupFields bounds what is read of a form.
const mostSetupFields = 40

// setup reads a set-up chart, and for each of its rows, the light riders first,
// which row of the form it was.
func (f *form) setup(prefs templates.Prefs) (s spec.Setup, at []int) {
	s.Unit, s.Sure = prefs.Unit(quantity.KindPressure), f.ticked("sure")
	s.From = spec.Value{SourceKind: f.text("source")}
	if s.From.SourceKind == spec.FromDocument {
		document := f.number("document")
		s.From.DocumentID, s.From.Page = &document, f.text("page")
	} else {
		s.From.SourceWords = f.text("words")
	}
	for i := range mostSetupFields {
		row, filled := f.setupRow(i, prefs)
		if !filled {
			continue
		}
		place := len(at)
		for place > 0 && s.Rows[place-1].RiderKG > row.RiderKG {
			place--
		}
		s.Rows = append(s.Rows[:place:place], append([]spec.SetupRow{row}, s.Rows[place:]...)...)
		at = append(at[:place:place], append([]int{i}, at[place:]...)...)
	}
	return s, at
}

func (f *form) setupRow(i int, prefs templates.Prefs) (row spec.SetupRow, filled bool) {
	name := func(column string) string { return fmt.Sprintf("row%d.%s", i, column) }
	for _, column := range []string{"kg", "pressure", "rebound", "compression", "spacers"} {
		filled = filled || f.text(name(column)) != ""
	}
	if !filled {
		return row, false
	}
	if kg := f.quantity(name("kg"), quantity.KindMass, prefs.Unit(quantity.KindMass)); kg != nil {
		row.RiderKG = kg.SI
	} else {
		f.wrong(name("kg"), "Give the mass of the rider.")
	}
	if pressure := f.quantity(name("pressure"), quantity.KindPressure, prefs.Unit(quantity.KindPressure)); pressure != nil {
		row.PressurePa = &pressure.SI
	}
	count := func(column string) *int {
		if f.text(name(column)) == "" {
			return nil
		}
		n, err := quantity.ParseCount(f.text(name(column)))
		if err != nil {
			f.wrong(name(column), err.Error())
		}
		return &n
	}
	row.Rebound, row.Compression, row.Spacers = count("rebound"), count("compression"), count("spacers")
	return row, true
}

// atRows names the rows of a refused chart as the form has them.
func (f *form) atRows(err error, at []int) error {
	var invalid *fault.Invalid
	if !errors.As(err, &invalid) {
		return err
	}
	moved := map[string]string{}
	for field, sentence := range invalid.Fields {
		var i int
		var column string
		if n, _ := fmt.Sscanf(field, "row%d.%s", &i, &column); n == 2 && i < len(at) {
			field = fmt.Sprintf("row%d.%s", at[i], column)
		}
		moved[field] = sentence
	}
	return &fault.Invalid{Fields: moved}
}
