package stock

import (
	"testing"

	"damperdesk/internal/db/dbtest"
)

func TestWhatStandsIsInLessTakenAway(t *testing.T) {
	ctx, tx, by := shelf(t)
	for _, amount := range []int64{3_000_000, 500_000} {
		if err := LogWaste(ctx, tx, by, NewWaste{Kind: UsedOil, Amount: amount, Container: "blue drum"}); err != nil {
			t.Fatal(err)
		}
	}
	day := dbtest.Now.AddDate(0, 0, -1)
	p := NewPickup{Carrier: "Fairlead Carriers", Document: "F-1041", TakenOn: day, Amounts: map[WasteKind]int64{UsedOil: 2_000_000, SoakedRags: 750_000}}
	if err := TakeWaste(ctx, tx, by, p, dbtest.Now); err != nil {
		t.Fatal(err)
	}
	standing := func() map[WasteKind]int64 {
		t.Helper()
		list, err := WasteStanding(ctx, tx, dbtest.Now.AddDate(0, 0, 1), dbtest.Now.AddDate(0, 0, 1))
		if err != nil || len(list) != len(WasteKinds) {
			t.Fatalf("%d kinds, %v", len(list), err)
		}
		left := map[WasteKind]int64{}
		for _, s := range list {
			left[s.Kind] = s.Left()
		}
		return left
	}
	if got := standing(); got[UsedOil] != 1_500_000 || got[SoakedRags] != -750_000 || got[Cans] != 0 {
		t.Errorf("standing %v", got)
	}
	list, err := WasteBetween(ctx, tx, day, dbtest.Now.AddDate(0, 0, 1), 10)
	if err != nil || len(list) != 2 {
		t.Fatalf("%d entries, %v", len(list), err)
	}
	if err := TakeBackWaste(ctx, tx, by, list[0].ID, " "); field(t, err) != "reason" {
		t.Errorf("taken back without a reason: %v", err)
	}
	if err := TakeBackWaste(ctx, tx, by, list[0].ID, "It was water"); err != nil {
		t.Fatal(err)
	}
	taken, err := PickupsBetween(ctx, tx, day, dbtest.Now)
	if err != nil || len(taken) != 2 {
		t.Fatalf("%d pickups, %v", len(taken), err)
	}
	for _, p := range taken {
		if err := TakeBackPickup(ctx, tx, by, p.ID, "Another shop’s paper"); err != nil {
			t.Fatal(err)
		}
	}
	if got := standing(); got[UsedOil] != 3_000_000 || got[SoakedRags] != 0 {
		t.Errorf("standing after all was answered %v", got)
	}
}

func TestWasteIsTakenBackOnce(t *testing.T) {
	ctx, tx, by := shelf(t)
	if err := LogWaste(ctx, tx, by, NewWaste{Kind: UsedSolvent, Amount: 1000}); err != nil {
		t.Fatal(err)
	}
	list, err := WasteBetween(ctx, tx, dbtest.Now, dbtest.Now.AddDate(0, 0, 1), 10)
	if err != nil {
		t.Fatal(err)
	}
	if err := TakeBackWaste(ctx, tx, by, list[0].ID, "Twice"); err != nil {
		t.Fatal(err)
	}
	refused(t, TakeBackWaste(ctx, tx, by, list[0].ID, "Twice"))
}

func TestWhatCannotStandOnAPickup(t *testing.T) {
	ctx, tx, by := shelf(t)
	for want, p := range map[string]NewPickup{
		"amounts carrier document taken_on": {},
		"taken_on":                          {Carrier: "c", Document: "d", TakenOn: dbtest.Now.AddDate(0, 0, 1), Amounts: map[WasteKind]int64{UsedOil: 1}},
	} {
		if err := TakeWaste(ctx, tx, by, p, dbtest.Now); field(t, err) != want {
			t.Errorf("%+v: wrong are %q, want %q", p, field(t, err), want)
		}
	}
	if err := LogWaste(ctx, tx, by, NewWaste{Kind: "milk", Amount: 0}); field(t, err) != "amount kind" {
		t.Errorf("wrong are %q", field(t, err))
	}
}
