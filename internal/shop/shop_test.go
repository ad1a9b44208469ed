package shop

import (
	"context"
	"errors"
	"slices"
	"testing"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

func sample() Settings {
	return Settings{
		Name: "Sill & Sons", Address: "4 Weir Lane", Phone: "020 7946 0123", Mail: "desk@example.com",
		Zone: "Europe/London", Currency: "GBP", Hemisphere: "north",
		TorqueUnit: "N·m", VolumeUnit: "mL", PressureUnit: "psi", MassUnit: "kg",
	}
}

// refused returns the fields that err refuses.
func refused(err error) []string {
	var invalid *fault.Invalid
	if !errors.As(err, &invalid) {
		return nil
	}
	var names []string
	for name := range invalid.Fields {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

func wantEvents(t *testing.T, ctx context.Context, q db.Querier, kind string, want int) {
	t.Helper()
	var got int
	err := q.QueryRow(ctx, "select count(*) from event where subject_kind = 'shop' and subject_id = 1 and kind = $1", kind).Scan(&got)
	if err != nil || got != want {
		t.Errorf("%d events %q, %v; want %d", got, kind, err, want)
	}
}

func TestSettingsAreKeptAndVersioned(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	if _, err := Get(ctx, tx); !errors.As(err, new(fault.NotFound)) {
		t.Fatalf("before the first save: %v, want not found", err)
	}
	s := sample()
	s.Name, s.Currency = "  Sill & Sons ", "gbp"
	if err := Save(ctx, tx, by, s); err != nil {
		t.Fatal(err)
	}
	want := sample()
	want.Version = 1
	if got, err := Get(ctx, tx); err != nil || got != want {
		t.Fatalf("read back %+v, %v; want %+v", got, err, want)
	}
	want.PressureUnit = "bar"
	if err := Save(ctx, tx, by, want); err != nil {
		t.Fatal(err)
	}
	got, err := Get(ctx, tx)
	if err != nil || got.PressureUnit != "bar" || got.Version != 2 {
		t.Errorf("after a change: %+v, %v", got, err)
	}
	for _, stale := range []int{0, 1} {
		want.Version = stale
		if err := Save(ctx, tx, by, want); !errors.As(err, new(fault.Conflict)) {
			t.Errorf("save over version %d while 2 stands: %v, want a conflict", stale, err)
		}
	}
	wantEvents(t, ctx, tx, "settings saved", 2)
}

func TestSettingsThatCannotStand(t *testing.T) {
	for _, c := range []struct {
		rule   string
		change func(*Settings)
		fields []string
	}{
		{"a name is needed", func(s *Settings) { s.Name = " \t" }, []string{"name"}},
		{"a zone of the tz database", func(s *Settings) { s.Zone = "Europe/Atlantis" }, []string{"zone"}},
		{"the server's own zone is not one", func(s *Settings) { s.Zone = "Local" }, []string{"zone"}},
		{"no zone is not UTC", func(s *Settings) { s.Zone = "" }, []string{"zone"}},
		{"a zone is not a path", func(s *Settings) { s.Zone = "../../etc/passwd" }, []string{"zone"}},
		{"a currency of ISO 4217", func(s *Settings) { s.Currency = "ABC" }, []string{"currency"}},
		{"no currency", func(s *Settings) { s.Currency = " " }, []string{"currency"}},
		{"half a currency", func(s *Settings) { s.Currency = "GB" }, []string{"currency"}},
		{"a hemisphere", func(s *Settings) { s.Hemisphere = "west" }, []string{"hemisphere"}},
		{"a unit of the right kind", func(s *Settings) { s.TorqueUnit = "psi" }, []string{"torque_unit"}},
		{"a unit that is offered", func(s *Settings) { s.MassUnit = "g" }, []string{"mass_unit"}},
		{"a mail address", func(s *Settings) { s.Mail = "desk at example" }, []string{"mail"}},
		{"a phone number", func(s *Settings) { s.Phone = "ask Ines" }, []string{"phone"}},
		{"several at once", func(s *Settings) { s.Name, s.VolumeUnit = "", "pint" }, []string{"name", "volume_unit"}},
		{"none", func(s *Settings) { s.Phone, s.Mail, s.Address = "", "", "" }, nil},
	} {
		t.Run(c.rule, func(t *testing.T) {
			s := sample()
			c.change(&s)
			if got := refused(s.trimmed().check()); !slices.Equal(got, c.fields) {
				t.Errorf("%+v refused for %v, want %v", s, got, c.fields)
			}
		})
	}
}

func TestEveryUnitOffered(t *testing.T) {
	for kind, units := range unitChoices {
		for _, u := range units {
			if u.Kind() != kind {
				t.Errorf("%q is offered for %s but measures %s", u, kind, u.Kind())
			}
		}
	}
}

func TestOnlyAnOwnerSetsWhatHoldsForTheShop(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	if err := Save(ctx, tx, dbtest.Act(t, tx, history.By{At: dbtest.Now}), sample()); err != nil {
		t.Fatalf("before there is an owner: %v", err)
	}
	desk, later := dbtest.By(t, tx, "desk", "mechanic"), sample()
	later.Version = 1
	_, terms := SetTerms(ctx, tx, desk, 0, "We look after it.")
	for name, err := range map[string]error{
		"settings": Save(ctx, tx, desk, later),
		"prices":   SetPricesIncludeTax(ctx, tx, desk, 1, true),
		"parts":    SetStockBelowZero(ctx, tx, desk, 1, true),
		"hours":    SetHours(ctx, tx, desk, nil, nil),
		"closing":  AddBreak(ctx, tx, desk, Break{First: dbtest.Now, Last: dbtest.Now, ToMin: DayEnd}),
		"opening":  RemoveBreak(ctx, tx, desk, Break{First: dbtest.Now, Last: dbtest.Now, ToMin: DayEnd}),
		"terms":    terms,
	} {
		if !errors.As(err, new(fault.Forbidden)) {
			t.Errorf("%s: %v, want forbidden", name, err)
		}
	}
}

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

func utc(t *testing.T, s string) time.Time {
	t.Helper()
	at, err := time.Parse("2006-01-02 15:04", s)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// everyDay is open from and to the same minutes on all seven days.
func everyDay(from, to int) []Opening {
	var week []Opening
	for d := time.Sunday; d <= time.Saturday; d++ {
		week = append(week, Opening{d, from, to})
	}
	return week
}

// Hours that cannot stand are refused before they are kept; were they kept all
// the same, the shop would not be open by them.
func TestHoursThatCannotStandAreNeverOpen(t *testing.T) {
	h := Hours{Openings: []Opening{{time.Monday, 600, 540}}}
	if _, _, ok := h.Calendar(time.UTC).Next(utc(t, "2026-01-05 09:30")); ok {
		t.Error("open from 10:00 to 09:00")
	}
}
