package web

import (
	"context"
	"net/http"
	"slices"
	"testing"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/shop"
	"damperdesk/internal/staff"
)

func (s *site) setupCode() (code string) {
	s.t.Helper()
	err := pgx.BeginFunc(context.Background(), s.pool, func(tx pgx.Tx) (err error) {
		code, err = staff.NewSetupCode(context.Background(), tx, dbtest.Now)
		return err
	})
	if err != nil {
		s.t.Fatal(err)
	}
	return code
}

// setupFields fills the set-up page; pairs given later count.
func setupFields(code string, other ...string) []string {
	return append([]string{"code", code, "shop", "Weir Lane Cycles", "zone", "Europe/London", "currency", "GBP",
		"hemisphere", "north", "torque_unit", "N·m", "pressure_unit", "psi", "mass_unit", "kg", "volume_unit", "mL",
		"name", "Ragna", "passphrase", phrase, "passphrase-again", phrase}, other...)
}

// with puts another value in place of a field's.
func with(fields []string, name, value string) []string {
	fields = slices.Clone(fields)
	for i := 0; i < len(fields); i += 2 {
		if fields[i] == name {
			fields[i+1] = value
		}
	}
	return fields
}

func TestTheFirstOwnerSetsUpTheShop(t *testing.T) {
	ctx, s := context.Background(), bareServer(t)
	code, b := s.setupCode(), s.anybody()
	b.get("/sign-in").wantTo("/setup")
	b.get("/me").wantTo("/setup")
	if got := b.get("/setup?code=" + code).want(http.StatusOK).value("code"); got != code {
		t.Errorf("the code of the address is shown as %q", got)
	}
	good := setupFields(code, "intent", uuid.NewString())
	for range 2 { // a second press leads to the same place
		b.post("/setup", good...).wantTo("/shop")
	}
	b.get("/shop").want(http.StatusOK)
	b.get("/").wantTo("/shop")
	other := s.anybody()
	other.post("/setup", with(with(good, "passphrase", "another long phrase"), "passphrase-again", "another long phrase")...).want(http.StatusConflict)
	other.get("/shop").want(http.StatusUnauthorized)
	settings, err := shop.Get(ctx, s.pool)
	if err != nil || settings.Name != "Weir Lane Cycles" || settings.Zone != "Europe/London" || settings.PressureUnit != "psi" {
		t.Errorf("settings %+v, %v", settings, err)
	}
	p, err := staff.ByName(ctx, s.pool, "Ragna")
	if err != nil || !p.Has(owner) || !p.Has(mechanic) || !p.Has(desk) {
		t.Errorf("the first person is %+v, %v", p, err)
	}
	b.get("/setup").want(http.StatusNotFound)
	s.anybody().post("/setup", setupFields(s.setupCode())...).want(http.StatusNotFound)
	b.post("/sign-in", "name", "Ragna", "passphrase", phrase).wantTo("/")
}

func TestASetupThatCannotStandStoresNothing(t *testing.T) {
	ctx, s := context.Background(), bareServer(t)
	good := setupFields(s.setupCode())
	for field, wrong := range map[string]string{
		"code": "0000-0000-0000-0000", "shop": " ", "zone": "Mars/Olympus", "currency": "XQX", "hemisphere": "",
		"torque_unit": "stone", "name": "", "passphrase": "short", "passphrase-again": "another long phrase",
	} {
		fields := with(good, field, wrong)
		if field == "passphrase" {
			fields = with(fields, "passphrase-again", wrong)
		}
		p := s.anybody().post("/setup", fields...).want(http.StatusUnprocessableEntity)
		if p.wrong(field) == "" {
			t.Errorf("%s %q: no sentence beside it; the page says %s", field, wrong, p.words("[role=alert]"))
		}
		if field != "shop" && p.value("shop") != "Weir Lane Cycles" {
			t.Errorf("%s %q: the name of the shop is lost", field, wrong)
		}
	}
	p := s.anybody().post("/setup", with(with(with(good, "zone", "Mars/Olympus"), "name", ""), "passphrase", "short")...).want(http.StatusUnprocessableEntity)
	for _, field := range []string{"zone", "name", "passphrase", "passphrase-again"} {
		if p.wrong(field) == "" {
			t.Errorf("of four faults at once none stands beside %s; the page says %s", field, p.words("[role=alert]"))
		}
	}
	if some, err := staff.Any(ctx, s.pool); some || err != nil {
		t.Errorf("somebody was added: %v, %v", some, err)
	}
	s.anybody().post("/setup", good...).wantTo("/shop") // the code is not spent
}
