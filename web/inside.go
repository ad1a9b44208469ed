package web

import (
	"context"
	"math"
	"net/http"
	"slices"
	"strconv"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
	"damperdesk/templates"
)

// insideDone is what the page about a unit's inside says after each of its forms.
var insideDone = map[string]string{
	"inside": "It is written down. Bench sheets that are started from now on take it.",
	"value":  "The value is this unit’s own from now on.",
	"remove": "The value is taken back; the spec sheet’s counts again.",
}

func toInside(done string) func(id int64) string {
	return func(id int64) string { return "/units/" + strconv.FormatInt(id, 10) + "/inside?done=" + done }
}

func (a *App) inside(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Done = insideDone[r.URL.Query().Get("done")]
		return a.insidePage(r.Context(), base, id, "")
	})
}

// insideForm makes the handler of the form called name on the page about a
// unit's inside.
func insideForm(name string, do change) handler {
	return changeBy("inside: "+name, do, toInside(name), func(a *App, ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
		return a.insidePage(ctx, base, id, name)
	})
}

func (a *App) insidePage(ctx context.Context, base templates.Base, id int64, sent string) (templ.Component, error) {
	form := func(name string) templates.Base { return base.Alone(uuid.NewString(), sent == name) }
	page := templates.InsidePage{Base: base, Put: form("inside"), Remove: form("remove")}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Unit, page.Model, err = unitModel(ctx, tx, id); err != nil {
			return err
		}
		page.Inside, err = spec.InsideOf(ctx, tx, id)
		return err
	})
	page.Title = "Inside " + page.Unit.Name
	return templates.UnitInside(page), err
}

// unitModel reads a unit with its model; of one that is not in the library only
// the kind is known.
func unitModel(ctx context.Context, q db.Querier, id int64) (customer.Unit, spec.Model, error) {
	unit, err := customer.GetUnit(ctx, q, id)
	if err != nil || unit.ModelID == 0 {
		return unit, spec.Model{Kind: unit.Kind}, err
	}
	m, err := spec.GetModel(ctx, q, unit.ModelID)
	return unit, m, err
}

func putInside(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, f *form) error {
	in := spec.Inside{Spring: f.text("spring"), Damper: f.text("damper"), Notes: f.text("notes")}
	if rate := f.quantity("rate", quantity.KindSpringRate, quantity.NewtonPerMillimetre); rate != nil {
		in.RateNM, in.RateUnit = &rate.SI, rate.Unit
	}
	if travel := f.quantity("travel", quantity.KindLength, quantity.Millimetre); travel != nil {
		mm := int(math.Round(min(travel.SI*1000, 1e6)))
		in.TravelMM = &mm
	}
	if f.text("spacers") != "" {
		n := int(min(f.number("spacers"), 1e6))
		in.Spacers = &n
	}
	seen := f.number("seen")
	if err := f.err(); err != nil {
		return err
	}
	if _, err := customer.GetUnit(ctx, tx, id); err != nil {
		return err
	}
	return spec.PutInside(ctx, tx, by, id, seen, in)
}

func (a *App) ownValueForm(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	of := valueOf(&form{values: r.URL.Query()})
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.ownValuePage(r.Context(), base, id, of)
	})
}

// ownValuePage asks for a value of one unit: one that it has, or another of a
// key.
func (a *App) ownValuePage(ctx context.Context, base templates.Base, id int64, of valueAsked) (templ.Component, error) {
	page := templates.OwnValuePage{ValuePage: templates.ValuePage{Base: base}}
	var in spec.Inside
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Unit, page.Model, err = unitModel(ctx, tx, id); err != nil {
			return err
		}
		in, err = spec.InsideOf(ctx, tx, id)
		return err
	})
	if err != nil {
		return nil, err
	}
	page.Model = in.On(page.Model)
	page.Value = spec.Value{Key: of.key, Place: of.place}
	if i := slices.IndexFunc(in.Values, func(v spec.UnitValue) bool { return v.ID == of.value }); i >= 0 {
		page.Value, page.PlaceStays = in.Values[i].Value, true
	}
	var known bool
	if page.Key, known = spec.Find(page.Value.Key); !known {
		return nil, fault.NotFound("A spec sheet has no such value.")
	}
	page.Title = page.Key.Name + ", " + page.Unit.Name
	return templates.OwnValue(page), nil
}

// putOwnValue reads a value of one unit as it was typed.
func (a *App) putOwnValue(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "")
	if err != nil {
		return err
	}
	do := func(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, f *form) error {
		v := f.specValue(base.Prefs)
		v.DocumentID, v.SourceWords = nil, f.text("words")
		if err := f.err(); err != nil {
			return err
		}
		_, m, err := unitModel(ctx, tx, id)
		if err != nil {
			return err
		}
		return spec.PutUnitValue(ctx, tx, by, id, m, v)
	}
	again := func(a *App, ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
		return a.ownValuePage(ctx, base, id, valueOf(&form{values: r.PostForm}))
	}
	return changeBy("inside: value", do, toInside("value"), again)(a, w, r)
}

func removeOwnValue(ctx context.Context, tx pgx.Tx, by history.By, id int64, _ int, f *form) error {
	value := f.number("value")
	if err := f.err(); err != nil {
		return err
	}
	return spec.RemoveUnitValue(ctx, tx, by, id, value)
}
