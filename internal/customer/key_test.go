package customer_test

import (
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
)

// Rows of an older database have their names, but no keys.
func TestRekeyMakesTheKeysOfOldRows(t *testing.T) {
	pool := dbtest.Clone(t)
	_, err := pool.Exec(ctx, `insert into customer (name, name_key, phone, mail) select 'Søren Łukaß ' || n, 'old', '+44 (0)7700 900118', 'Tiger.Cat@example.com' from generate_series(1, 1201) n;
			insert into bike (customer_id, words, colour, frame_no) select id, 'Häckel 29', 'green', 'WB-77' from customer;
			insert into unit (kind, customer_id, bike_id, model_words, serial, tag) select 'fork', customer_id, id, 'Old coil', 'TL-20418', 'T ' || id from bike`)
	if err != nil {
		t.Fatal(err)
	}
	for range 2 { // once more finds nothing to do
		if err := customer.Rekey(ctx, pool); err != nil {
			t.Fatal(err)
		}
	}
	var n int
	err = pool.QueryRow(ctx, `select count(*) from customer c join bike b on b.customer_id = c.id join unit u on u.bike_id = b.id
		where c.name_key = 'soren lukass ' || c.id and c.mail_key = 'tiger cat' and c.phone_digits = '447700900118'
			and c.grams @> array['  s', 'uka', 'ass', 'ss ', '  t', '#44', '118', '18 ']
			and u.words_key = 'old coil green hackel 29' and u.frame_key = 'wb77' and u.grams @> array[' gr', '29 ', '#wb', 'b77']
			and u.serial_key = 'tl20418' and u.tag_key = 't' || u.id and u.grams @> array['oil', '#tl', '418']
			and c.version = 1 and u.version = 1`).Scan(&n)
	if err != nil || n != 1201 {
		t.Errorf("%d rows are keyed, %v; want 1201", n, err)
	}
}

// A row that is kept now has the keys that Rekey would make.
func TestWhatIsKeptIsKeyedAsRekeyDoes(t *testing.T) {
	pool := dbtest.Clone(t)
	err := pgx.BeginFunc(ctx, pool, func(tx pgx.Tx) error {
		by := dbtest.By(t, tx, "desk")
		id := addCustomer(t, tx, by, customer.Details{Name: "Ada Flint", Phone: "07700 900111", Mail: "ada@example.com"})
		if err := customer.Update(ctx, tx, by, id, 1, customer.Details{Name: "Ada Marsh", Phone: "07700 900222", Mail: "marsh@example.com"}); err != nil {
			return err
		}
		unit, err := customer.AddUnit(ctx, tx, by, id, customer.UnitDetails{Kind: "fork", ModelWords: "black", Serial: "A-1", BikeColour: "red", FrameNo: "F 1"})
		if err != nil {
			return err
		}
		return customer.UpdateUnit(ctx, tx, by, unit, 1, customer.UnitDetails{Kind: "fork", ModelWords: "grey", Serial: "B-2", Tag: "T 2", BikeColour: "blue", BikeWords: "tandem", FrameNo: "G 2"}, false)
	})
	if err != nil {
		t.Fatal(err)
	}
	before := allKeys(t, pool)
	if _, err := pool.Exec(ctx, "update customer set keyed = 0; update unit set keyed = 0"); err != nil {
		t.Fatal(err)
	}
	if err := customer.Rekey(ctx, pool); err != nil {
		t.Fatal(err)
	}
	if after := allKeys(t, pool); after != before || before == "" {
		t.Errorf("kept with %s, keyed again with %s", before, after)
	}
}

func allKeys(t *testing.T, q db.Querier) (all string) {
	t.Helper()
	err := q.QueryRow(ctx, `select (select json_agg(c order by id) from customer c)::text || (select json_agg(b order by id) from bike b)::text
		|| (select json_agg(u order by id) from unit u)::text`).Scan(&all)
	if err != nil {
		t.Fatal(err)
	}
	return all
}
