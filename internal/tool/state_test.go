package tool

import (
	"context"
	"errors"
	"testing"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/quantity"
)

func TestAToolGoesOutOfUseAndComesBackWithAReason(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "mechanic")
	id, err := Add(ctx, tx, by, wrench("Wrench 3", 2, 15, 0.1))
	if err != nil {
		t.Fatal(err)
	}
	set := func(version int, state, reason string) error {
		return SetState(ctx, tx, dbtest.Act(t, tx, by), id, version, state, reason)
	}
	var (
		invalid   *fault.Invalid
		conflict  fault.Conflict
		forbidden fault.Forbidden
		none      fault.NotFound
	)
	if err := set(1, Withdrawn, " "); !errors.As(err, &invalid) || invalid.Fields["reason"] == "" {
		t.Errorf("without a reason: %v", err)
	}
	if err := set(1, "lost", "nobody knows"); !errors.As(err, &invalid) || invalid.Fields["state"] == "" {
		t.Errorf("no such state: %v", err)
	}
	if err := set(1, InUse, "it is"); !errors.As(err, &conflict) {
		t.Errorf("in use already: %v", err)
	}
	if err := set(1, Withdrawn, " it fell "); err != nil {
		t.Fatal(err)
	}
	if err := set(1, Away, "to be calibrated"); !errors.As(err, &conflict) {
		t.Errorf("over an older version: %v", err)
	}
	if err := set(2, InUse, "calibrated"); err != nil {
		t.Fatal(err)
	}
	if err := SetState(ctx, tx, dbtest.By(t, tx, "desk"), id, 3, Away, "lent"); !errors.As(err, &forbidden) {
		t.Errorf("by the desk: %v", err)
	}
	if err := SetState(ctx, tx, by, id+1, 1, Away, "lent"); !errors.As(err, &none) {
		t.Errorf("no such tool: %v", err)
	}
	got, err := Get(ctx, tx, id)
	if err != nil || got.State != InUse || got.Version != 3 {
		t.Errorf("stands as %+v, %v", got, err)
	}
	list, err := StateChanges(ctx, tx, id)
	if err != nil || len(list) != 2 || list[1].State != Withdrawn || list[1].Reason != "it fell" || list[0].State != InUse || list[0].By == "" {
		t.Errorf("changes: %+v, %v", list, err)
	}
}

func TestAToolIsCorrected(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	id, err := Add(ctx, tx, by, wrench("3", 2, 15, 0.1))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Add(ctx, tx, dbtest.Act(t, tx, by), wrench("4", 2, 15, 0.1)); err != nil {
		t.Fatal(err)
	}
	if err := Calibrate(ctx, tx, dbtest.Act(t, tx, by), id, NewCalibration{DoneOn: day("2026-03-02"), Certificate: "C-118", Passed: true}); err != nil {
		t.Fatal(err)
	}
	right := wrench(" Wrench 3 ", 2.26, 22.6, 1, func(t *Tool) { t.Unit = quantity.PoundForceInch })
	if err := Change(ctx, tx, dbtest.Act(t, tx, by), id, 1, right); err != nil {
		t.Fatal(err)
	}
	got, err := Get(ctx, tx, id)
	if err != nil || got.Name != "Wrench 3" || got.RangeMaxNm != 22.6 || got.Unit != quantity.PoundForceInch || got.Version != 2 || !got.Passed {
		t.Errorf("corrected: %+v, %v", got, err)
	}
	var (
		conflict  fault.Conflict
		invalid   *fault.Invalid
		forbidden fault.Forbidden
	)
	if err := Change(ctx, tx, by, id, 1, right); !errors.As(err, &conflict) {
		t.Errorf("over an older version: %v", err)
	}
	if err := Change(ctx, tx, by, id, 2, Tool{}); !errors.As(err, &invalid) {
		t.Errorf("to nothing: %v", err)
	}
	if err := Change(ctx, tx, dbtest.By(t, tx, "desk"), id, 2, right); !errors.As(err, &forbidden) {
		t.Errorf("by the desk: %v", err)
	}
	right.Name = "4"
	if err := Change(ctx, tx, by, id, 2, right); !errors.As(err, &invalid) || invalid.Fields["name"] == "" {
		t.Errorf("to a name that another has: %v", err)
	}
}
