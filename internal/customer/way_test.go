package customer_test

import (
	"errors"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

func wayIs(t *testing.T, tx pgx.Tx, id int64, want customer.Way) {
	t.Helper()
	if got, err := customer.GetWay(ctx, tx, id); err != nil || got != want {
		t.Errorf("customer %d reads %+v, %v; want %+v", id, got, err, want)
	}
}

func TestACustomersWayIsTheShopsUntilTheyChoose(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	id, err := customer.Add(ctx, tx, by, customer.Details{Name: "Odette Marsh"})
	must(t, err)
	wayIs(t, tx, id, customer.Way{})
	must(t, customer.SetWay(ctx, tx, by, id, customer.Way{}))
	wantHistory(t, tx, history.OfCustomer, id, "customer added")
	bars := customer.Way{Pressure: "bar", Days: "month day"}
	must(t, customer.SetWay(ctx, tx, by, id, bars))
	bars.Version = 1
	wayIs(t, tx, id, bars)
	wantHistory(t, tx, history.OfCustomer, id, "way of reading chosen", "customer added")

	var stale fault.Conflict
	if err := customer.SetWay(ctx, tx, by, id, customer.Way{Clock: "12"}); !errors.As(err, &stale) {
		t.Errorf("what was chosen over an older state: %v; want a conflict", err)
	}
	must(t, customer.SetWay(ctx, tx, by, id, customer.Way{Version: 1}))
	wayIs(t, tx, id, customer.Way{Version: 2})
}

func TestAWayIsChosenFromWhatThereIs(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	id, err := customer.Add(ctx, tx, by, customer.Details{Name: "Odette Marsh"})
	must(t, err)
	version := 0
	for _, f := range customer.WayFields {
		for _, choice := range f.Choices {
			w := customer.Way{Version: version}
			w.Set(f.Name, choice)
			must(t, customer.SetWay(ctx, tx, by, id, w))
			version++
			w.Version = version
			wayIs(t, tx, id, w)
		}
		w := customer.Way{Version: version}
		w.Set(f.Name, "furlong")
		var refused *fault.Invalid
		if err := customer.SetWay(ctx, tx, by, id, w); !errors.As(err, &refused) || refused.Fields[f.Name] == "" {
			t.Errorf("%s furlong: %v; want it refused beside its field", f.Name, err)
		}
	}
}

func TestWhoIsMergedIntoAnotherIsReadAsTheyChose(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	into, err := customer.Add(ctx, tx, by, customer.Details{Name: "Odette Marsh"})
	must(t, err)
	from, err := customer.Add(ctx, tx, by, customer.Details{Name: "Odette Marsch"})
	must(t, err)
	must(t, customer.SetWay(ctx, tx, by, from, customer.Way{Pressure: "bar"}))
	must(t, mergeNow(t, tx, by, into, from))
	bars := customer.Way{Pressure: "bar", Version: 1}
	wayIs(t, tx, from, bars)
	wayIs(t, tx, into, bars)

	bars.Mass = "lb"
	must(t, customer.SetWay(ctx, tx, by, from, bars))
	bars.Version = 2
	wayIs(t, tx, from, bars)
	wayIs(t, tx, into, bars)
}
