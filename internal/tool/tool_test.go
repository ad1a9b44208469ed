package tool

import (
	"context"
	"errors"
	"maps"
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/quantity"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

func TestAToolIsAddedAndCalibrated(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "mechanic")
	id, err := Add(ctx, tx, by, wrench(" Wrench 3 ", 2, 15, 0.1))
	if err != nil {
		t.Fatal(err)
	}
	got, err := Get(ctx, tx, id)
	if err != nil || got.Name != "Wrench 3" || got.State != "in use" || got.LastCalibrated != nil || got.Passed {
		t.Fatalf("just added: %+v, %v", got, err)
	}
	for _, c := range []struct {
		on     string
		passed bool
	}{{"2026-03-02", true}, {"2026-09-01", false}, {"2025-03-01", true}} {
		if err := Calibrate(ctx, tx, dbtest.Act(t, tx, by), id, NewCalibration{DoneOn: day(c.on), Certificate: "C-118", Passed: c.passed}); err != nil {
			t.Fatal(err)
		}
	}
	list, err := List(ctx, tx)
	if err != nil || len(list) != 1 || !list[0].LastCalibrated.Equal(day("2026-09-01")) || list[0].Passed {
		t.Errorf("the newest calibration is not the one that counts: %+v, %v", list, err)
	}
	var events int
	err = tx.QueryRow(ctx, "select count(*) from event where subject_kind = 'tool' and subject_id = $1", id).Scan(&events)
	if err != nil || events != 4 {
		t.Errorf("%d events of the tool, want 4 (%v)", events, err)
	}
}

func TestAToolThatCannotBeIsRefused(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	var invalid *fault.Invalid
	_, err := Add(ctx, tx, by, Tool{Kind: "hammer", Unit: quantity.Bar, RangeMinNm: 5, RangeMaxNm: 5})
	if !errors.As(err, &invalid) {
		t.Fatalf("got %v", err)
	}
	want := []string{"graduation", "kind", "name", "range"}
	if got := slices.Sorted(maps.Keys(invalid.Fields)); !slices.Equal(got, want) {
		t.Errorf("fields refused: got %v, want %v", got, want)
	}
	long := wrench(strings.Repeat("3", 81), 2, 15, 0.1)
	long.Serial, long.Lives = long.Name, long.Name
	if _, err := Add(ctx, tx, by, long); !errors.As(err, &invalid) || len(invalid.Fields) != 3 {
		t.Errorf("a name, a serial and a place without end: %v", err)
	}
	if _, err := Add(ctx, tx, by, wrench("3", 2, 15, 0.1)); err != nil {
		t.Fatal(err)
	}
	if _, err := Add(ctx, tx, by, wrench("3", 1, 10, 0.1)); !errors.As(err, &invalid) || invalid.Fields["name"] == "" {
		t.Errorf("a second tool of one name: got %v", err)
	}
}

func TestWhoMayCalibrateAndWhen(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "mechanic")
	id, err := Add(ctx, tx, by, wrench("3", 2, 15, 0.1))
	if err != nil {
		t.Fatal(err)
	}
	var (
		forbidden fault.Forbidden
		invalid   *fault.Invalid
		none      fault.NotFound
	)
	if err := Calibrate(ctx, tx, dbtest.By(t, tx, "desk"), id, NewCalibration{DoneOn: today, Passed: true}); !errors.As(err, &forbidden) {
		t.Errorf("by the desk: got %v", err)
	}
	if err := Calibrate(ctx, tx, by, id, NewCalibration{DoneOn: today.AddDate(0, 0, 2), Passed: true}); !errors.As(err, &invalid) || invalid.Fields["done_on"] == "" {
		t.Errorf("on a day to come: got %v", err)
	}
	if err := Calibrate(ctx, tx, by, id+1, NewCalibration{DoneOn: today, Passed: true}); !errors.As(err, &none) {
		t.Errorf("no such tool: got %v", err)
	}
	if _, err := Get(ctx, tx, id+1); !errors.As(err, &none) {
		t.Errorf("get no such tool: got %v", err)
	}
}
