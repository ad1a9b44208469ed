package tool

import (
	"context"
	"errors"
	"testing"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/torque"
)

// What a tool may be off is what its certificate states, else what the owner
// confirmed, else the default that nobody did: 6 % of a click wrench up to
// 10 N·m (ISO 6789-1:2017, from memory and not confirmed).
func TestWhatAToolMayBeOffComesFromWhoKnowsBest(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	owner := dbtest.By(t, tx, "owner")
	id, err := Add(ctx, tx, owner, wrench("3", 2, 10, 0.1))
	if err != nil {
		t.Fatal(err)
	}
	want := func(share float64, from Source) {
		t.Helper()
		got, err := Get(ctx, tx, id)
		if s, f := got.Deviation(); err != nil || s != share || f != from {
			t.Errorf("it may be %v off by %q, %v; want %v by %q", s, f, err, share, from)
		}
	}
	want(0.06, Unconfirmed)
	limit := Limit{Kind: "click wrench", Small: true, Share: 0.05}
	if err := SetLimit(ctx, tx, dbtest.Act(t, tx, owner), limit); err != nil {
		t.Fatal(err)
	}
	want(0.05, ByShop)
	var conflict fault.Conflict
	if err := SetLimit(ctx, tx, owner, limit); !errors.As(err, &conflict) {
		t.Errorf("confirmed over a version gone by: %v", err)
	}
	limit.Version, limit.Share = 1, 0.3
	var invalid *fault.Invalid
	if err := SetLimit(ctx, tx, owner, limit); !errors.As(err, &invalid) || invalid.Fields["share"] == "" {
		t.Errorf("30 %%: %v", err)
	}
	limit.Share = 0.04
	var forbidden fault.Forbidden
	if err := SetLimit(ctx, tx, dbtest.By(t, tx, "mechanic"), limit); !errors.As(err, &forbidden) {
		t.Errorf("by a mechanic: %v", err)
	}
	share := 0.02
	if err := Calibrate(ctx, tx, dbtest.Act(t, tx, owner), id, NewCalibration{DoneOn: day("2026-03-02"), Passed: true, Share: &share}); err != nil {
		t.Fatal(err)
	}
	want(0.02, ByCertificate)
	list, err := Limits(ctx, tx)
	if err != nil || len(list) != 2*len(Kinds) || list[0].Version != 1 || list[0].Share != 0.05 || list[1].Version != 0 || list[0].Class.String() != "type II class A" {
		t.Errorf("limits %+v, %v", list, err)
	}
}

// Every kind of tool has a class of the standard.
func TestEveryKindHasItsDefault(t *testing.T) {
	for _, kind := range Kinds {
		for _, small := range []bool{true, false} {
			if share := byStandard(kind, small); share != 0.04 && share != 0.06 {
				t.Errorf("%s, small %v: %v", kind, small, share)
			}
		}
	}
}

// Points: deviations of checks by hand, (Xa - Xr)/Xr of ISO 6789-1:2017 from
// memory. Set 5.00 for 4.70 is 6.4 % off.
func TestTheTriedPointsDecideWhetherItPassed(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "mechanic")
	id, err := Add(ctx, tx, by, wrench("3", 2, 10, 0.1))
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		points []torque.Point
		field  string
	}{
		"too far off":     {[]torque.Point{{Set: 5, Reference: 4.82}, {Set: 5, Reference: 4.7}}, "passed"},
		"off its scale":   {[]torque.Point{{Set: 5, Reference: 4.82}, {Set: 12, Reference: 12}}, "set1"},
		"nothing applied": {[]torque.Point{{Set: 5, Reference: 0}}, "set0"},
	} {
		var invalid *fault.Invalid
		err := Calibrate(ctx, tx, by, id, NewCalibration{DoneOn: day("2026-03-02"), Passed: true, Points: c.points})
		if !errors.As(err, &invalid) || invalid.Fields[c.field] == "" {
			t.Errorf("%s: %v, want a fault beside %s", name, err, c.field)
		}
	}
	points := []torque.Point{{Set: 5, Reference: 4.7}, {Set: 10, Reference: 10}}
	if err := Calibrate(ctx, tx, dbtest.Act(t, tx, by), id, NewCalibration{DoneOn: day("2026-03-02"), Points: points}); err != nil {
		t.Fatal(err)
	}
	list, err := Calibrations(ctx, tx, id)
	if err != nil || len(list) != 1 {
		t.Fatalf("%+v, %v", list, err)
	}
	results, err := list[0].Points(0.06)
	if err != nil || len(results) != 2 || results[0].Passed || !results[1].Passed {
		t.Errorf("%+v, %v", results, err)
	}
}

// A fall sends a tool to be calibrated at once: FAA AC 43.13-1B, 7-40. Only a
// calibration of that day or later ends it.
func TestAToolThatFellServesAgainOnceCalibrated(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "mechanic")
	id, err := Add(ctx, tx, by, wrench("3", 2, 10, 0.1))
	if err != nil {
		t.Fatal(err)
	}
	trouble := func() string {
		t.Helper()
		got, err := Get(ctx, tx, id)
		if err != nil {
			t.Fatal(err)
		}
		return got.Trouble(today)
	}
	calibrate := func(on string) {
		t.Helper()
		if err := Calibrate(ctx, tx, dbtest.Act(t, tx, by), id, NewCalibration{DoneOn: day(on), Passed: true}); err != nil {
			t.Fatal(err)
		}
	}
	calibrate("2026-03-02")
	if got := trouble(); got != "" {
		t.Fatalf("calibrated: %q", got)
	}
	if err := Mishap(ctx, tx, dbtest.Act(t, tx, by), id, Overloaded, " on a seized bolt ", day("2026-10-12")); err != nil {
		t.Fatal(err)
	}
	calibrate("2026-10-11") // the day before, entered late
	if got := trouble(); got != "It was overloaded on 12 October 2026 and was not calibrated since." {
		t.Errorf("after an overload: %q", got)
	}
	calibrate("2026-10-12")
	if got := trouble(); got != "" {
		t.Errorf("calibrated again: %q", got)
	}
	var invalid *fault.Invalid
	if err := Mishap(ctx, tx, by, id, "rusty", "", today); !errors.As(err, &invalid) {
		t.Errorf("another mishap: %v", err)
	}
}
