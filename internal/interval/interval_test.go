package interval

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/procedure"
	"damperdesk/internal/spec"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

// 31 January 2026 and a month is 3 March by Go's AddDate (Go 1.26) and 28
// February by a rule that clamps; the other rows follow from the calendar.
func TestAddMonthsStaysInTheMonth(t *testing.T) {
	day := func(text string) time.Time {
		d, err := time.Parse(time.DateOnly, text)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	for _, c := range []struct {
		from string
		n    int
		want string
	}{
		{"2026-01-31", 1, "2026-02-28"},
		{"2024-01-31", 1, "2024-02-29"},
		{"2024-02-29", 12, "2025-02-28"},
		{"2024-02-29", 48, "2028-02-29"},
		{"2026-10-14", 12, "2027-10-14"},
		{"2026-12-31", 2, "2027-02-28"},
		{"2026-08-31", 1, "2026-09-30"},
		{"2026-03-31", -1, "2026-02-28"},
		{"2026-01-15", -1, "2025-12-15"},
		{"2026-05-31", 0, "2026-05-31"},
	} {
		if got := AddMonths(day(c.from), c.n); !got.Equal(day(c.want)) {
			t.Errorf("%s and %d months: got %s, want %s", c.from, c.n, got.Format(time.DateOnly), c.want)
		}
	}
	if got := day("2026-01-31").AddDate(0, 1, 0); !got.Equal(day("2026-03-03")) {
		t.Errorf("AddDate gives %s: the reason for this rule is gone", got.Format(time.DateOnly))
	}
}

func installed(t *testing.T) (context.Context, pgx.Tx, history.By) {
	t.Helper()
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "mechanic")
	if err := procedure.Install(ctx, tx, by); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if err := Install(ctx, tx); err != nil {
			t.Fatal(err)
		}
	}
	return ctx, tx, by
}

func newModel(t *testing.T, ctx context.Context, tx pgx.Tx, by history.By, values ...spec.Value) int64 {
	t.Helper()
	id, err := spec.AddModel(ctx, tx, by, spec.Model{Kind: "fork", Maker: "Halvard", Name: t.Name(), Spring: "air", Damper: "cartridge"})
	if err != nil {
		t.Fatal(err)
	}
	if len(values) == 0 {
		return id
	}
	sheet, err := spec.DraftSheet(ctx, tx, by, id, values)
	if err != nil {
		t.Fatal(err)
	}
	if err := spec.CheckSheet(ctx, tx, dbtest.By(t, tx, "mechanic"), sheet); err != nil {
		t.Fatal(err)
	}
	return id
}

func expect(t *testing.T, ctx context.Context, tx pgx.Tx, code string, modelID int64, want Rule) {
	t.Helper()
	got, err := For(ctx, tx, code, modelID)
	if err != nil || got != want {
		t.Errorf("interval of %s for model %d: got %+v, %v; want %+v", code, modelID, got, err, want)
	}
}

// Lower legs every 50 h or yearly: common practice (no source).
func TestEveryModelHasTheShippedInterval(t *testing.T) {
	ctx, tx, by := installed(t)
	want := Rule{ServiceCode: "lower-leg", Hours: 50, Months: 12}
	expect(t, ctx, tx, "lower-leg", 0, want)
	expect(t, ctx, tx, "lower-leg", newModel(t, ctx, tx, by), want)
	var none fault.NotFound
	if r, err := For(ctx, tx, "polish", 0); !errors.As(err, &none) {
		t.Errorf("a service nobody knows: got %+v, %v", r, err)
	}
}

func TestTheModelsOwnIntervalComesFirst(t *testing.T) {
	ctx, tx, by := installed(t)
	hours := spec.Value{Key: "lower-leg service hours", NominalSI: 30, ShownUnit: spec.Hours,
		SourceKind: spec.FromMeasuring, SourceWords: "on 12 forks"}
	id := newModel(t, ctx, tx, by, hours)
	expect(t, ctx, tx, "lower-leg", id, Rule{ServiceCode: "lower-leg", ModelID: id, Hours: 30})
	if _, err := tx.Exec(ctx, "insert into interval_rule (service_code, model_id, hours) values ('lower-leg', $1, 25)", id); err != nil {
		t.Fatal(err)
	}
	expect(t, ctx, tx, "lower-leg", id, Rule{ServiceCode: "lower-leg", ModelID: id, Hours: 25})
	expect(t, ctx, tx, "lower-leg", 0, Rule{ServiceCode: "lower-leg", Hours: 50, Months: 12})
}

func TestInstallLeavesTheShopsInterval(t *testing.T) {
	ctx, tx, _ := installed(t)
	if _, err := tx.Exec(ctx, "update interval_rule set hours = 40, months = null where service_code = 'lower-leg'"); err != nil {
		t.Fatal(err)
	}
	if err := Install(ctx, tx); err != nil {
		t.Fatal(err)
	}
	expect(t, ctx, tx, "lower-leg", 0, Rule{ServiceCode: "lower-leg", Hours: 40})
}
