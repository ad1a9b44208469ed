package customer_test

import (
	"errors"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

func addCustomer(t *testing.T, tx pgx.Tx, by history.By, d customer.Details) int64 {
	t.Helper()
	id, err := customer.Add(ctx, tx, by, d)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func addModel(t *testing.T, tx pgx.Tx, name string) (id int64) {
	t.Helper()
	err := tx.QueryRow(ctx, `insert into model (kind, maker, name, travel_mm, spring, damper)
		values ('fork', 'Tindra', $1, 150, 'air', 'sealed') returning id`, name).Scan(&id)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func TestUnitIsKeptWithItsBike(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	owner := addCustomer(t, tx, by, customer.Details{Name: "Odette Marsh"})
	model := addModel(t, tx, "Unit Lode")
	hardtail := customer.UnitDetails{Kind: "fork", ModelID: model, ModelWords: "dropped for the model", Serial: " TL-20418 ",
		BikeWords: "hardtail", BikeColour: "green"}
	fork, err := customer.AddUnit(ctx, tx, by, owner, hardtail)
	if err != nil {
		t.Fatal(err)
	}
	got, err := customer.GetUnit(ctx, tx, fork)
	want := customer.Unit{ID: fork, Kind: "fork", CustomerID: owner, ModelID: model, Name: "Tindra Unit Lode", Serial: "TL-20418",
		BikeID: got.BikeID, BikeWords: "hardtail", BikeColour: "green", TravelMM: 150, Spring: "air", Version: 1}
	if err != nil || got != want {
		t.Errorf("GetUnit = %+v, %v; want %+v", got, err, want)
	}
	shock, err := customer.AddUnit(ctx, tx, by, owner, customer.UnitDetails{Kind: "rear shock", ModelWords: "old coil shock",
		Tag: "T-9", BikeWords: "Hardtail", BikeColour: "green"})
	if err != nil {
		t.Fatal(err)
	}
	var bikes int
	if err := tx.QueryRow(ctx, "select count(*) from bike where customer_id = $1", owner).Scan(&bikes); err != nil || bikes != 1 {
		t.Errorf("two units off one bike keep %d bikes, %v; want 1", bikes, err)
	}
	list, err := customer.Units(ctx, tx, owner)
	if err != nil || len(list) != 2 || list[0].ID != fork || list[1].ID != shock || list[1].Name != "old coil shock" {
		t.Errorf("Units = %+v, %v", list, err)
	}
	wantHistory(t, tx, history.OfCustomer, owner, "unit added", "unit added", "customer added")
}

func TestUnitIsChanged(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "mechanic")
	owner := addCustomer(t, tx, by, customer.Details{Name: "Odette Marsh"})
	id, err := customer.AddUnit(ctx, tx, by, owner, customer.UnitDetails{Kind: "fork", ModelWords: "black fork", Tag: "T-10"})
	if err != nil {
		t.Fatal(err)
	}
	model := addModel(t, tx, "Changed Lode")
	if err := customer.UpdateUnit(ctx, tx, by, id, 1, customer.UnitDetails{Kind: "fork", ModelID: model, Tag: "t-10"}, false); err != nil {
		t.Fatal(err)
	}
	u, err := customer.GetUnit(ctx, tx, id)
	if err != nil || u.Name != "Tindra Changed Lode" || u.Version != 2 {
		t.Errorf("after UpdateUnit: %+v, %v", u, err)
	}
	var conflict fault.Conflict
	if err := customer.UpdateUnit(ctx, tx, by, id, 1, customer.UnitDetails{Kind: "fork", ModelID: model}, false); !errors.As(err, &conflict) {
		t.Errorf("UpdateUnit of a version gone by: %v; want a Conflict", err)
	}
	wantHistory(t, tx, history.OfUnit, id, "unit changed", "unit added")
}

// A bike is described once for all units off it; one that goes on another bike
// leaves the description of the old one behind.
func TestABikeIsMendedForAllItsUnits(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	owner := addCustomer(t, tx, by, customer.Details{Name: "Odette Marsh"})
	d := customer.UnitDetails{Kind: "fork", ModelWords: "black fork", BikeWords: "hardtail", BikeColour: "gren"}
	add := func(d customer.UnitDetails) int64 {
		id, err := customer.AddUnit(ctx, tx, by, owner, d)
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	fork := add(d)
	d.Kind, d.ModelWords = "seatpost", "grey post"
	post := add(d)
	change := func(colour string, moved bool) {
		t.Helper()
		u, err := customer.GetUnit(ctx, tx, fork)
		if err == nil {
			err = customer.UpdateUnit(ctx, tx, by, fork, u.Version, customer.UnitDetails{ModelWords: "black fork", BikeWords: "hardtail", BikeColour: colour}, moved)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	want := func(when string, forkColour, postColour string, postVersion int) {
		t.Helper()
		list, err := customer.UnitsByID(ctx, tx, []int64{fork, post})
		if err != nil || list[0].BikeColour != forkColour || list[1].BikeColour != postColour || list[1].Version != postVersion || list[0].Kind != "fork" {
			t.Errorf("%s: %+v, %v; want colours %s and %s, the post's version %d", when, list, err, forkColour, postColour, postVersion)
		}
		var key string
		if err := tx.QueryRow(ctx, "select words_key from unit where id = $1", post).Scan(&key); err != nil || key != "grey post "+postColour+" hardtail" {
			t.Errorf("%s: the post is found by %q, %v", when, key, err)
		}
	}
	change("green", false)
	want("mended", "green", "green", 2)
	wantHistory(t, tx, history.OfUnit, post, "unit changed", "unit added")
	change("violet", true)
	want("moved", "violet", "green", 2)
	change("violet", false)
	want("kept as it was", "violet", "green", 2)
}

func TestUnitIsRefusedByField(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	owner := addCustomer(t, tx, by, customer.Details{Name: "Odette Marsh"})
	model := addModel(t, tx, "Refused Lode")
	if _, err := customer.AddUnit(ctx, tx, by, owner, customer.UnitDetails{Kind: "fork", ModelWords: "black fork", Serial: "AB 1-207", Tag: "T-11"}); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name   string
		d      customer.UnitDetails
		fields string
	}{
		{"nothing at all", customer.UnitDetails{}, "kind model"},
		{"a model nobody has", customer.UnitDetails{Kind: "fork", ModelID: model + 1000}, "model"},
		{"a shock of a fork's model", customer.UnitDetails{Kind: "rear shock", ModelID: model}, "model"},
		{"a tag in use", customer.UnitDetails{Kind: "fork", ModelID: model, Tag: "t-11"}, "tag"},
		{"a serial of another", customer.UnitDetails{Kind: "fork", ModelID: model, Serial: "ab1207"}, "serial"},
		{"an endless serial", customer.UnitDetails{Kind: "fork", ModelID: model, Serial: strings.Repeat("7", 121)}, "serial"},
	} {
		_, err := customer.AddUnit(ctx, tx, by, owner, c.d)
		var invalid *fault.Invalid
		if !errors.As(err, &invalid) || strings.Join(slices.Sorted(maps.Keys(invalid.Fields)), " ") != c.fields {
			t.Errorf("%s: %v; want faults in %s", c.name, err, c.fields)
		}
	}
	for what, d := range map[string]customer.UnitDetails{
		"a serial that is confirmed":      {Kind: "fork", ModelID: model, Serial: "ab1207", SerialSure: true},
		"the serial of another kind":      {Kind: "seatpost", ModelWords: "grey post", Serial: "ab1207"},
		"words in the place of a serial":  {Kind: "fork", ModelID: model, Serial: "worn off"},
		"the same words once more":        {Kind: "fork", ModelID: model, Serial: "worn off"},
		"another of the confirmed serial": {Kind: "fork", ModelID: model, Serial: "AB-1207", SerialSure: true},
	} {
		id, err := customer.AddUnit(ctx, tx, by, owner, d)
		if err != nil {
			t.Errorf("%s: %v", what, err)
			continue
		}
		d.SerialSure = false
		if err := customer.UpdateUnit(ctx, tx, by, id, 1, d, false); err != nil {
			t.Errorf("%s, kept as it was in a change: %v", what, err)
		}
	}
	var missing fault.NotFound
	if _, err := customer.AddUnit(ctx, tx, by, owner+1000, customer.UnitDetails{Kind: "fork", ModelID: model}); !errors.As(err, &missing) {
		t.Errorf("AddUnit for nobody: %v; want NotFound", err)
	}
	if _, err := customer.GetUnit(ctx, tx, 1<<40); !errors.As(err, &missing) {
		t.Errorf("GetUnit of nothing: %v; want NotFound", err)
	}
}
