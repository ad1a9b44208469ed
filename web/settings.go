package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/quantity"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

func (a *App) settings(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.settingsPage(r.Context(), base)
	})
}

func (a *App) settingsPage(ctx context.Context, base templates.Base) (templ.Component, error) {
	base.Title = "Name, zone and units"
	s, err := shop.Get(ctx, a.pool)
	return templates.Settings(templates.SettingsPage{Base: base, Settings: s}), err
}

func (a *App) saveSettings(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	version := int(f.number("version"))
	return a.take(w, r, f, "settings", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		s, err := shop.Get(ctx, tx)
		if err != nil {
			return "", err
		}
		f.settings(&s)
		s.Name, s.Address, s.Phone, s.Mail = f.text("name"), f.text("address"), f.text("phone"), f.text("mail")
		s.TaxNumber = f.text("tax_number")
		s.Version = version
		if err := shop.Save(ctx, tx, by, s); err != nil {
			return "", err
		}
		return "/shop?done=settings", currencyHolds(ctx, tx)
	}, func(base templates.Base) (templ.Component, error) {
		return a.settingsPage(r.Context(), base)
	})
}

// settings reads the fields that the set-up page and the settings share.
func (f *form) settings(s *shop.Settings) {
	s.Zone, s.Currency, s.Hemisphere = f.text("zone"), f.text("currency"), f.text("hemisphere")
	s.TorqueUnit, s.PressureUnit = quantity.Unit(f.text("torque_unit")), quantity.Unit(f.text("pressure_unit"))
	s.MassUnit, s.VolumeUnit = quantity.Unit(f.text("mass_unit")), quantity.Unit(f.text("volume_unit"))
}

// currencyHolds refuses a currency while visits are open in another one: their
// limits and bills could not be set against its prices.
func currencyHolds(ctx context.Context, q db.Querier) error {
	s, err := shop.Get(ctx, q)
	if err != nil {
		return err
	}
	open, err := job.OpenCurrencies(ctx, q)
	others := slices.DeleteFunc(open, func(code string) bool { return code == s.Currency })
	if err != nil || len(others) == 0 {
		return err
	}
	return fault.Field("currency", fmt.Sprintf("Visits are open in %s: hand them over or cancel them first.", strings.Join(others, " and ")))
}
