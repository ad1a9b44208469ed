package web

import (
	"context"
	"net/http"
	"strconv"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/spec"
	"damperdesk/templates"
)

func (a *App) unitForm(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.unitFormPage(r.Context(), base, id)
	})
}

func (a *App) unitFormPage(ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
	page := templates.UnitFormPage{Base: base}
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Unit, err = customer.GetUnit(ctx, tx, id); err != nil {
			return err
		}
		if page.Beside, err = customer.Beside(ctx, tx, page.Unit); err != nil {
			return err
		}
		page.Models, err = spec.Models(ctx, tx)
		return err
	})
	page.Title = "Correct " + page.Unit.Name
	return templates.UnitForm(page), err
}

// changeUnit keeps what is known of a unit now.
var changeUnit = changeBy("unit", correctUnit, func(id int64) string {
	return "/units/" + strconv.FormatInt(id, 10) + "?done=unit"
}, (*App).unitFormPage)

func correctUnit(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, f *form) error {
	d := customer.UnitDetails{
		ModelID: f.number("model"), ModelWords: f.text("words"), Serial: f.text("serial"), SerialSure: f.ticked("serialsure"), Tag: f.text("tag"),
		BikeWords: f.text("bike"), BikeColour: f.text("colour"), FrameNo: f.text("frame"),
	}
	if err := f.err(); err != nil {
		return err
	}
	return customer.UpdateUnit(ctx, tx, by, id, version, d, f.text("moved") == "yes")
}
