package web

import (
	"context"
	"errors"
	"net/http"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/procedure"
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
	return render(w, r, http.StatusOK, templates.Models(templates.ModelsPage{Base: base, Models: list}))
}

func (a *App) model(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	base, err := a.base(r, "")
	if err != nil {
		return err
	}
	page := templates.ModelPage{Base: base}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
		page.Model, page.Sheet, err = readModel(r.Context(), tx, id)
		if err == nil {
			page.Missing, err = missingValues(r.Context(), tx, page.Model, page.Sheet)
		}
		return err
	})
	if err != nil {
		return err
	}
	page.Title = page.Model.Title()
	return render(w, r, http.StatusOK, templates.Model(page))
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

// missingValues are the torques and volumes that the shop's services ask of
// such a model and its sheet does not have. A kind of unit that no service has
// steps for lacks none.
func missingValues(ctx context.Context, q db.Querier, m spec.Model, sheet spec.Sheet) ([]templates.MissingValue, error) {
	services, err := procedure.Services(ctx, q)
	if err != nil || len(services) == 0 {
		return nil, err
	}
	blocks, err := procedure.Current(ctx, q)
	if err != nil {
		return nil, err
	}
	steps, err := procedure.Merge(services, blocks, procedure.FactsOf(m, "unit only").With(sheet))
	if errors.As(err, new(fault.Conflict)) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var missing []templates.MissingValue
	for _, s := range steps {
		key, known := spec.Find(s.SpecKey)
		if !known || s.Kind != procedure.Torque && s.Kind != procedure.Volume {
			continue
		}
		if _, has := sheet.Value(s.SpecKey, s.Place); !has {
			missing = append(missing, templates.MissingValue{Key: key, Place: s.Place})
		}
	}
	return missing, nil
}
