package main

import (
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/intent"
	"damperdesk/internal/job"
	"damperdesk/internal/quantity"
	"damperdesk/internal/shop"
	"damperdesk/internal/spec"
	"damperdesk/internal/staff"
	"damperdesk/internal/tool"
)

// smallShop has two mechanics, a wrench, and a fork in the queue for each.
type smallShop struct {
	t    *testing.T
	pool *db.Pool
	now  time.Time
}

const passphrase = "blue spoke over gravel"

// openShop fills the empty database that the program serves from.
func openShop(t *testing.T, serveURL string, mechanics ...string) {
	t.Helper()
	pool, err := db.Open(t.Context(), serveURL)
	if err != nil {
		t.Fatal(err)
	}
	defer pool.Close()
	s := smallShop{t, pool, time.Now().UTC()}
	s.act(0, func(tx pgx.Tx, by history.By) error {
		return shop.Save(t.Context(), tx, by, shop.Settings{
			Name: "Weir Lane Cycles", Zone: "Europe/London", Currency: "GBP", Hemisphere: "north",
			TorqueUnit: quantity.NewtonMetre, VolumeUnit: quantity.Millilitre, PressureUnit: quantity.PSI, MassUnit: quantity.Kilogram,
		})
	})
	ids := make([]int64, len(mechanics))
	for i, name := range mechanics {
		s.act(0, func(tx pgx.Tx, by history.By) (err error) {
			ids[i], err = staff.Add(t.Context(), tx, by, staff.New{Name: name, Roles: []string{"mechanic", "desk"}, Passphrase: passphrase})
			return err
		})
	}
	s.addWrench(ids[0])
	model := s.addModel(ids[0], ids[1])
	for _, id := range ids {
		s.act(id, func(tx pgx.Tx, by history.By) error { return s.takeIn(tx, by, model, id) })
	}
}

func (s smallShop) act(person int64, do func(tx pgx.Tx, by history.By) error) {
	s.t.Helper()
	by := history.By{At: s.now, Staff: person, Roles: []string{"mechanic", "desk", "owner"}, Intent: uuid.New()}
	act := intent.Act{ID: by.Intent, Kind: "test", Actor: person, Fingerprint: []byte{}, At: s.now}
	_, err := intent.Do(s.t.Context(), s.pool, act, func(tx pgx.Tx) (string, error) { return "/", do(tx, by) })
	if err != nil {
		s.t.Fatal(err)
	}
}

func (s smallShop) addWrench(person int64) {
	s.t.Helper()
	s.act(person, func(tx pgx.Tx, by history.By) error {
		id, err := tool.Add(s.t.Context(), tx, by, tool.Tool{
			Name: "Wrench 3", Kind: "click wrench", RangeMinNm: 2, RangeMaxNm: 15, Unit: quantity.NewtonMetre, Graduation: 0.1,
		})
		if err != nil {
			return err
		}
		return tool.Calibrate(s.t.Context(), tx, by, id, tool.NewCalibration{DoneOn: s.now.AddDate(0, -3, 0), Passed: true})
	})
}

// addModel is a fork with a checked sheet: foot bolts at 7.3 N·m and 10 mL of
// oil a leg, common practice (no source).
func (s smallShop) addModel(author, checker int64) (model int64) {
	s.t.Helper()
	var sheet int64
	s.act(author, func(tx pgx.Tx, by history.By) (err error) {
		ctx := s.t.Context()
		model, err = spec.AddModel(ctx, tx, by, spec.Model{
			Kind: "fork", Maker: "Halvard", Name: "Sill", Spring: "air", Damper: "sealed", SpringLeg: "left", DamperLeg: "right",
			Adjusters: []string{"rebound", "compression"},
		})
		if err != nil {
			return err
		}
		document, err := spec.AddDocument(ctx, tx, by, model, "Sill service manual", "3rd edition")
		if err != nil {
			return err
		}
		value := func(key string, si, window float64, unit quantity.Unit, fluid string) spec.Value {
			return spec.Value{Key: key, NominalSI: si, MinusSI: window, PlusSI: window, ShownUnit: unit, Fluid: fluid,
				SourceKind: spec.FromDocument, DocumentID: &document, Page: "41"}
		}
		sheet, err = spec.DraftSheet(ctx, tx, by, model, []spec.Value{
			value("foot bolt", 7.3, 0.5, quantity.NewtonMetre, ""),
			value("lower-leg oil", 10e-6, 1e-6, quantity.Millilitre, "bath oil"),
			value("rebound range", 17, 1, "", ""),
			value("travel", 0.15, 0.003, quantity.Millimetre, ""),
		})
		return err
	})
	s.act(checker, func(tx pgx.Tx, by history.By) error { return spec.CheckSheet(s.t.Context(), tx, by, sheet) })
	return model
}

func (s smallShop) takeIn(tx pgx.Tx, by history.By, model, mechanic int64) error {
	_, err := job.TakeIn(s.t.Context(), tx, by, job.DropOff{
		NewCustomer: customer.Details{Name: "Odette Marsh", Phone: "07700 900118"}, PromisedAt: s.now.AddDate(0, 0, 2), Currency: "GBP",
		Units: []job.DropOffUnit{{
			NewUnit:  customer.UnitDetails{Kind: "fork", ModelID: model},
			Services: []string{"lower-leg"}, Symptoms: []string{job.JustDue}, MechanicID: mechanic,
		}},
	})
	return err
}
