package customer_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

var ctx = context.Background()

// Source for what a phone number may be: ITU-T E.164 (15 digits at most) and
// the numbers Ofcom reserves for fiction.
func TestDetailsThatAreTaken(t *testing.T) {
	for _, d := range []customer.Details{
		{Name: "Odette Marsh"},
		{Name: "Odette Marsh", Phone: "07700 900118"},
		{Name: "Odette Marsh", Phone: "+44 (0)7700 900 118"},
		{Name: "Odette Marsh", Phone: "0044 7700-900.118"},
		{Name: "Odette Marsh", Phone: "020 7946 0018 ext 12"},
		{Name: "Odette Marsh", Phone: "(020) 7946/0018 x7"},
		{Name: "Ольга", Mail: "odette.marsh+bike@example.co.test"},
		{Name: "Team 7", Mail: " jörg@example.com "},
	} {
		if faults := d.Check(); len(faults) != 0 {
			t.Errorf("%+v: %v; want it taken", d, faults)
		}
	}
}

func TestDetailsThatAreRefused(t *testing.T) {
	for _, c := range []struct {
		d     customer.Details
		field string
		says  string
	}{
		{customer.Details{Name: "  "}, "name", "Type the customer’s name"},
		{customer.Details{Name: "…"}, "name", "Type the customer’s name"},
		{customer.Details{Name: strings.Repeat("n", 121)}, "name", "at most 120"},
		{customer.Details{Phone: "ask Ines"}, "phone", "not a phone number"},
		{customer.Details{Phone: "07700 900118 or 07700 900119"}, "phone", "not a phone number"},
		{customer.Details{Phone: "07700 900118; home"}, "phone", "not a phone number"},
		{customer.Details{Phone: "44+7700900118"}, "phone", "not a phone number"},
		{customer.Details{Phone: "118"}, "phone", "too short"},
		{customer.Details{Phone: "07700 900118 07700 900119"}, "phone", "too long"},
		{customer.Details{Mail: "odette"}, "mail", "not a mail address"},
		{customer.Details{Mail: "odette@example"}, "mail", "not a mail address"},
		{customer.Details{Mail: "Odette <odette@example.com>"}, "mail", "not a mail address"},
		{customer.Details{Mail: "odette@example.com, tom@example.com"}, "mail", "not a mail address"},
		{customer.Details{Mail: "odette@@example.com"}, "mail", "not a mail address"},
	} {
		if got := c.d.Check()[c.field]; !strings.Contains(got, c.says) {
			t.Errorf("%+v: %s says %q; want %q", c.d, c.field, got, c.says)
		}
	}
}

func TestAddUpdateGet(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	id, err := customer.Add(ctx, tx, by, customer.Details{Name: " Odette  Marsh ", Phone: "07700 900 118", Mail: "odette@example.com"})
	if err != nil {
		t.Fatal(err)
	}
	got, err := customer.Get(ctx, tx, id)
	want := customer.Customer{ID: id, Name: "Odette Marsh", Phone: "07700 900 118", Mail: "odette@example.com", Version: 1}
	if err != nil || got != want {
		t.Fatalf("Get = %+v, %v; want %+v", got, err, want)
	}
	if err := customer.Update(ctx, tx, by, id, 1, customer.Details{Name: "Odette Ellery"}); err != nil {
		t.Fatal(err)
	}
	got, err = customer.Get(ctx, tx, id)
	if want = (customer.Customer{ID: id, Name: "Odette Ellery", Version: 2}); err != nil || got != want {
		t.Errorf("after Update: %+v, %v; want %+v", got, err, want)
	}
	var conflict fault.Conflict
	if err := customer.Update(ctx, tx, by, id, 1, customer.Details{Name: "Odile"}); !errors.As(err, &conflict) {
		t.Errorf("Update of a version gone by: %v; want a Conflict", err)
	}
	var missing fault.NotFound
	if err := customer.Update(ctx, tx, by, id+1, 1, customer.Details{Name: "Odile"}); !errors.As(err, &missing) {
		t.Errorf("Update of nobody: %v; want NotFound", err)
	}
	if _, err := customer.Get(ctx, tx, id+1); !errors.As(err, &missing) {
		t.Errorf("Get of nobody: %v; want NotFound", err)
	}
	var invalid *fault.Invalid
	if _, err := customer.Add(ctx, tx, by, customer.Details{Phone: "x", Mail: "x"}); !errors.As(err, &invalid) || len(invalid.Fields) != 3 {
		t.Errorf("Add of nonsense: %v; want faults in name, phone and mail", err)
	}
	wantHistory(t, tx, history.OfCustomer, id, "customer changed", "customer added")
}

// wantHistory checks the kinds of events, newest first.
func wantHistory(t *testing.T, tx pgx.Tx, scope history.Scope, id int64, kinds ...string) {
	t.Helper()
	entries, err := history.Read(ctx, tx, scope, id, 0)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		got = append(got, e.Kind)
	}
	if !slices.Equal(got, kinds) {
		t.Errorf("history by %s: %q, want %q", scope, got, kinds)
	}
}
