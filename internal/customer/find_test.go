package customer_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
)

func TestFind(t *testing.T) {
	tx := dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	marsh := addCustomer(t, tx, by, customer.Details{Name: "Odette Marsh", Phone: "07700 900 118", Mail: "odette_m@example.com"})
	addCustomer(t, tx, by, customer.Details{Name: "Oda Marshall", Phone: "+44 7700 900181", Mail: "odettexm@example.com"})
	addCustomer(t, tx, by, customer.Details{Name: "Søren Łukaß O’Neill"})
	addCustomer(t, tx, by, customer.Details{Name: "Team 2048", Phone: "020 7946 0018"})
	unit, err := customer.AddUnit(ctx, tx, by, marsh, customer.UnitDetails{Kind: "fork", ModelWords: "black fork"})
	if err != nil {
		t.Fatal(err)
	}
	_, err = tx.Exec(ctx, `with v as (insert into visit (customer_id, promised_at, came, goes_back, currency, opened_at)
			values ($1, $3, 'counter', 'pickup', 'GBP', $3) returning id)
		insert into job (number, visit_id, unit_id, stage, opened_at) select 4141, id, $2, 'dropped off', $3 from v`,
		marsh, unit, dbtest.Now)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ text, want string }{
		{"marsh", "Odette Marsh, Oda Marshall"}, // the whole word first
		{"MARSH odette", "Odette Marsh"},
		{"ode mar", "Odette Marsh"},
		{"marsh 118", "Odette Marsh, Oda Marshall"},
		{"marsh 181", "Oda Marshall, Odette Marsh"},
		{"arsh", ""}, // words are begun at their beginning
		{"soren lukass", "Søren Łukaß O’Neill"},
		{"oneill", "Søren Łukaß O’Neill"},
		{"o'neill", "Søren Łukaß O’Neill"},
		{"07700900118", "Odette Marsh"},
		{"0 7700-9001.18", "Odette Marsh"},
		{"+44 7700 900118", "Odette Marsh"},
		{"0044 (0)7700 900118", "Odette Marsh"},
		{"07700 900181", "Oda Marshall"},
		{"900", "Oda Marshall, Odette Marsh"},
		{"18", ""}, // too short for a phone number
		{"team 2048", "Team 2048"},
		{"2048", "Team 2048"},
		{"odette_m@", "Odette Marsh"}, // _ is no wildcard
		{"Odette_M@EXAMPLE.com", "Odette Marsh"},
		{"%", ""},
		{"4141", "Odette Marsh"}, // the ticket
		{"#4141", "Odette Marsh"},
		{"4142", ""},
		{"99999999999999999999", ""},
		{"  ", ""},
	} {
		found, err := customer.Find(ctx, tx, c.text, 10)
		if err != nil {
			t.Errorf("Find(%q): %v", c.text, err)
		}
		var names []string
		for _, f := range found {
			names = append(names, f.Name)
		}
		if got := strings.Join(names, ", "); got != c.want {
			t.Errorf("Find(%q) = %q, want %q", c.text, got, c.want)
		}
	}
	found, err := customer.Find(ctx, tx, "odette", 1)
	if err != nil || len(found) != 1 || found[0].Units != 1 || found[0].LastHere == nil || !found[0].LastHere.Equal(dbtest.Now) {
		t.Errorf("Find(odette) = %+v, %v; want one unit, last here now", found, err)
	}
	u, err := customer.GetUnit(ctx, tx, unit)
	if err != nil || u.OpenJob != 4141 || u.OpenJobID == 0 || u.LastAt == nil {
		t.Errorf("GetUnit of a unit that is here = %+v, %v; want ticket 4141", u, err)
	}
}

// The desk types while the customer stands there: a fifth of a second is hardly
// felt as waiting (common practice, no source).
func TestFindIsQuickAmongTwentyThousand(t *testing.T) {
	tx := dbtest.Tx(t)
	_, err := tx.Exec(ctx, `insert into customer (name, name_key, phone, phone_digits, mail)
		select 'Rider ' || n || ' Marsh' || n % 97, 'rider ' || n || ' marsh' || n % 97,
			'07700 9' || lpad(n::text, 5, '0'), '077009' || lpad(n::text, 5, '0'), 'rider' || n || '@example.com'
		from generate_series(1, 20000) n`)
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"marsh4 rid", "07700 912 345", "rider777@", "no such person"} {
		var took []time.Duration
		for range 5 {
			start := time.Now()
			if _, err := customer.Find(ctx, tx, text, 10); err != nil {
				t.Fatal(err)
			}
			took = append(took, time.Since(start))
		}
		slices.Sort(took)
		t.Logf("Find(%q): %v", text, took[0])
		if took[0] > 200*time.Millisecond {
			t.Errorf("Find(%q) takes %v at best, want at most 200 ms", text, took[0])
		}
	}
}
