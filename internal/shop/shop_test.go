package shop

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
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

func TestHoursAreReplacedAsAWeek(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	if err := SetHours(ctx, tx, by, everyDay(540, 1020)); err != nil {
		t.Fatal(err)
	}
	week := []Opening{{time.Tuesday, 540, 720}, {time.Tuesday, 720, 1440}, {time.Saturday, 0, 780}}
	if err := SetHours(ctx, tx, by, week); err != nil {
		t.Fatal(err)
	}
	h, err := GetHours(ctx, tx)
	if err != nil || !slices.Equal(h.Openings, week) {
		t.Errorf("read back %v, %v; want %v", h.Openings, err, week)
	}
	wantEvents(t, ctx, tx, "hours set", 2)
}

func TestHoursThatCannotStand(t *testing.T) {
	for _, c := range []struct {
		rule string
		week []Opening
		says string
	}{
		{"spans overlap", []Opening{{1, 660, 1020}, {1, 540, 720}}, "Monday: 09:00 to 12:00 and 11:00 to 17:00 overlap."},
		{"closes before it opens", []Opening{{1, 720, 540}}, "Monday"},
		{"closes as it opens", []Opening{{1, 720, 720}}, "Monday"},
		{"past midnight", []Opening{{1, 720, 1500}}, "Monday"},
		{"before midnight", []Opening{{1, -60, 540}}, "Monday"},
		{"no such day", []Opening{{7, 540, 1020}}, "day of the week"},
	} {
		err := checkWeek(c.week)
		if err == nil || !slices.Equal(refused(err), []string{"opening"}) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v gives %v, want a sentence with %q", c.rule, c.week, err, c.says)
		}
	}
}

func TestTheDatabaseRefusesOverlappingHours(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	_, err := tx.Exec(ctx, "insert into opening values (1, 540, 720), (1, 660, 1020)")
	if err == nil || !strings.Contains(err.Error(), "opening_no_overlap") {
		t.Errorf("overlapping rows: %v", err)
	}
}

func TestClosuresComeAndGo(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	day := time.Date(2026, 12, 24, 0, 0, 0, 0, time.UTC)
	for _, c := range []Closure{{day, 720, 1440}, {day, 720, 800}, {day.AddDate(0, 0, 1), 0, 1440}} {
		if err := AddClosure(ctx, tx, by, c); err != nil {
			t.Fatal(err)
		}
	}
	if err := RemoveClosure(ctx, tx, by, Closure{Day: day.AddDate(0, 0, 1)}); err != nil {
		t.Fatal(err)
	}
	h, err := GetHours(ctx, tx)
	if want := []Closure{{day, 720, 1440}}; err != nil || !slices.Equal(h.Closures, want) {
		t.Errorf("read back %v, %v; want %v", h.Closures, err, want)
	}
	if err := RemoveClosure(ctx, tx, by, Closure{Day: day, FromMin: 1}); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("removing what is not there: %v, want a conflict", err)
	}
	if err := AddClosure(ctx, tx, by, Closure{day, 720, 720}); !slices.Equal(refused(err), []string{"closure"}) {
		t.Errorf("an empty closure: %v", err)
	}
	wantEvents(t, ctx, tx, "closure added", 3)
	wantEvents(t, ctx, tx, "closure removed", 1)
}

func TestTermsAreOnlyEverAdded(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	if _, err := CurrentTerms(ctx, tx); !errors.As(err, new(fault.NotFound)) {
		t.Fatalf("before the first edition: %v, want not found", err)
	}
	first, err := SetTerms(ctx, tx, by, "We keep your fork 30 days.")
	if err != nil {
		t.Fatal(err)
	}
	second, err := SetTerms(ctx, tx, by, " We keep your fork 60 days.\n")
	if err != nil {
		t.Fatal(err)
	}
	got, err := CurrentTerms(ctx, tx)
	if err != nil || got.ID != second || got.Words != "We keep your fork 60 days." || !got.At.Equal(dbtest.Now) {
		t.Errorf("in force: %+v, %v", got, err)
	}
	if _, err := SetTerms(ctx, tx, by, " \n"); !slices.Equal(refused(err), []string{"words"}) {
		t.Errorf("empty terms: %v", err)
	}
	wantEvents(t, ctx, tx, "terms set", 2)
	if _, err := tx.Exec(ctx, "update terms set words = 'Ours.' where id = $1", first); err == nil {
		t.Error("an edition was changed")
	}
	// The refusal ends the transaction; there is nothing left to check in it.
}
