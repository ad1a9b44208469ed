package web

import (
	"context"
	"net/http"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/shop"
)

// settingsFields fills the form of the settings over a version.
func settingsFields(version string) []string {
	return []string{"version", version, "name", "Weir Lane Forks", "address", "4 Weir Lane\nLowbridge", "phone", "020 7946 0123",
		"mail", "desk@example.com", "zone", "madrid", "currency", "gbp", "hemisphere", "south",
		"torque_unit", "lbf·in", "pressure_unit", "bar", "mass_unit", "lb", "volume_unit", "mL"}
}

func TestAnOwnerSavesTheSettings(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	p := b.get("/shop/settings").want(http.StatusOK)
	if p.value("version") != "1" || p.value("name") != "Weir Lane Cycles" || p.Find("datalist option").Length() < 400 {
		t.Errorf("version %q, name %q, %d zones", p.value("version"), p.value("name"), p.Find("datalist option").Length())
	}
	fields := append(settingsFields("1"), "intent", p.intent("/shop/settings"))
	for range 2 { // a second press leads to the same place
		b.post("/shop/settings", fields...).wantTo("/shop?done=settings")
	}
	want := shop.Settings{
		Name: "Weir Lane Forks", Address: "4 Weir Lane\nLowbridge", Phone: "020 7946 0123", Mail: "desk@example.com",
		Zone: "Europe/Madrid", Currency: "GBP", Hemisphere: "south",
		TorqueUnit: "lbf·in", VolumeUnit: "mL", PressureUnit: "bar", MassUnit: "lb", Version: 2,
	}
	if got, err := shop.Get(context.Background(), s.pool); err != nil || got != want {
		t.Errorf("stored %+v, %v; want %+v", got, err, want)
	}
	b.get("/shop?done=settings").wantWords("[role=status]", "saved").wantWords(".masthead", "Weir Lane Forks")
}

func TestSettingsThatCannotStandAreKept(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	for field, wrong := range map[string]string{
		"name": "", "phone": "ask Ines", "mail": "desk at example", "zone": "Europe/Atlantis",
		"currency": "", "hemisphere": "", "torque_unit": "stone", "volume_unit": "pint",
	} {
		p := b.post("/shop/settings", with(settingsFields("1"), field, wrong)...).want(http.StatusUnprocessableEntity)
		if p.wrong(field) == "" {
			t.Errorf("%s %q: no sentence beside it; the page says %s", field, wrong, p.words("[role=alert]"))
		}
		if field != "mail" && p.value("mail") != "desk@example.com" {
			t.Errorf("%s %q: the mail address that was typed is lost", field, wrong)
		}
	}
	b.post("/shop/settings", settingsFields("1")...).wantTo("/shop?done=settings")
	p := b.post("/shop/settings", settingsFields("1")...).want(http.StatusConflict).wantWords("[role=alert]", "Somebody else changed this")
	if p.value("name") != "Weir Lane Forks" {
		t.Errorf("the form that came too late has lost its name: %q", p.value("name"))
	}
}

func TestTheCurrencyHoldsWhileVisitsAreOpen(t *testing.T) {
	s := server(t)
	b, c := s.as(owner), s.counter()
	j := c.takeIn("Sill 34", dbtest.Now.AddDate(0, 0, 3))
	p := b.post("/shop/settings", with(settingsFields("1"), "currency", "EUR")...).want(http.StatusUnprocessableEntity)
	if got, want := p.wrong("currency"), "Visits are open in GBP: hand them over or cancel them first."; got != want {
		t.Errorf("beside the currency: %q, want %q", got, want)
	}
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		return job.Cancel(ctx, tx, by(), j.ID, "returned undone", "")
	}, desk)
	b.post("/shop/settings", with(settingsFields("1"), "currency", "EUR")...).wantTo("/shop?done=settings")
}
