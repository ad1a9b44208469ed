package simulate

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
	"damperdesk/internal/tool"
)

// values are the invented spec sheet of the one model that comes.
var values = []struct {
	key, place      string
	nominal, window float64
	unit            quantity.Unit
	fluid           string
}{
	{"foot bolt", "", 7.3, 0.5, quantity.NewtonMetre, ""},
	{"lower-leg oil", "foot-left", 10, 1, quantity.Millilitre, "bath oil, 10 weight"},
	{"lower-leg oil", "foot-right", 10, 1, quantity.Millilitre, "bath oil, 10 weight"},
	{"air top cap", "top-left", 28, 2, quantity.NewtonMetre, ""},
	{"air-side oil", "top-left", 3, 1, quantity.Millilitre, "bath oil, 10 weight"},
	{"damper fill", "top-right", 140, 5, quantity.Millilitre, "damper fluid, 5 weight"},
	{"damper seal head", "stanchion-right", 16, 2, quantity.NewtonMetre, ""},
	{"damper cap", "top-right", 24, 2, quantity.NewtonMetre, ""},
	{"rebound clicks", "", 7, 0, "", ""},
	{"rider pressure", "", 80, 0, quantity.PSI, ""},
	{"maximum pressure", "", 160, 0, quantity.PSI, ""},
	{"air lost overnight", "", 3, 0, quantity.PSI, ""},
}

// stock gives the shop its model, with a sheet that two owners put in force, and
// two wrenches.
func (w *world) stock(ctx context.Context) error {
	other, err := w.hire(ctx, "Another owner", "owner")
	if err != nil {
		return err
	}
	var sheet int64
	err = w.act(ctx, w.owner, func(tx pgx.Tx, by history.By) (err error) {
		sheet, err = w.draft(ctx, tx, by)
		return err
	})
	if err != nil {
		return err
	}
	err = w.act(ctx, other, func(tx pgx.Tx, by history.By) error { return spec.CheckSheet(ctx, tx, by, sheet) })
	if err != nil {
		return err
	}
	return w.act(ctx, w.owner, func(tx pgx.Tx, by history.By) error {
		for _, t := range []tool.Tool{
			{Name: "Small wrench", Kind: "click wrench", RangeMinNm: 2, RangeMaxNm: 15, Unit: quantity.NewtonMetre, Graduation: 0.1},
			{Name: "Large wrench", Kind: "click wrench", RangeMinNm: 8, RangeMaxNm: 60, Unit: quantity.NewtonMetre, Graduation: 0.5},
		} {
			id, err := tool.Add(ctx, tx, by, t)
			if err != nil {
				return err
			}
			w.wrenches = append(w.wrenches, id)
		}
		return w.calibrate(ctx, tx, by)
	})
}

// calibrate has both wrenches checked, as the shop does every month.
func (w *world) calibrate(ctx context.Context, tx pgx.Tx, by history.By) (err error) {
	w.calibrated = w.now
	for _, id := range w.wrenches {
		err = errors.Join(err, tool.Calibrate(ctx, tx, by, id, tool.NewCalibration{DoneOn: w.now.AddDate(0, 0, -1), Passed: true}))
	}
	return err
}

func (w *world) draft(ctx context.Context, tx pgx.Tx, by history.By) (sheet int64, err error) {
	w.model, err = spec.AddModel(ctx, tx, by, spec.Model{
		Kind: "fork", Maker: "Nobody", Name: "Run", Spring: "air", Damper: "sealed", SpringLeg: "left", DamperLeg: "right",
		Adjusters: []string{"rebound"}, Build: spec.Build{Crowns: "one"},
	})
	if err != nil {
		return 0, err
	}
	document, err := spec.AddDocument(ctx, tx, by, w.model, "Run service manual", "1st edition")
	if err != nil {
		return 0, err
	}
	var list []spec.Value
	for _, v := range values {
		si := v.nominal
		window := v.window
		if v.unit != "" {
			kind := v.unit.Kind()
			if si, err = quantity.FromUnit(kind, v.nominal, v.unit); err != nil {
				return 0, err
			}
			if window, err = quantity.FromUnit(kind, v.window, v.unit); err != nil {
				return 0, err
			}
		}
		list = append(list, spec.Value{Key: v.key, Place: v.place, NominalSI: si, MinusSI: window, PlusSI: window, ShownUnit: v.unit,
			Fluid: v.fluid, SourceKind: spec.FromDocument, DocumentID: &document, Page: "1"})
	}
	return spec.DraftSheet(ctx, tx, by, w.model, list)
}
