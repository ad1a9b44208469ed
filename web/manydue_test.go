package web

import (
	"context"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/due"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/shop"
)

// manyDue has so many forks of as many riders, whose next lower-leg service is due;
// of ten each, one day after the other, the first have waited the longest. All want
// mail but every fifth, who can be rung. One mechanic is there forty hours a week.
func manyDue(t *testing.T, n int) counter {
	t.Helper()
	c := server(t).counter()
	ctx := context.Background()
	c.write(func(tx pgx.Tx, by history.By) error { return interval.Install(ctx, tx, by) })
	c.write(func(tx pgx.Tx, by history.By) error { return shop.SetHours(ctx, tx, by, nil, shop.UsualWeeks[0]) })
	c.as(mechanic)
	c.write(func(tx pgx.Tx, by history.By) error {
		words := strings.NewReplacer("MANY", strconv.Itoa(n), "ACT", by.Intent.String(), "NOW", dbtest.Now.Format(time.RFC3339))
		for _, sql := range []string{
			`insert into customer (name, name_key, phone, mail) select 'Rider ' || k, 'rider ' || k, '07700 900118', case when n % 5 > 0 then 'rider' || k || '@example.com' else '' end
				from generate_series(1, MANY) n, to_char(n, 'FM000') k`,
			"insert into consent (customer_id, kind, given, how, intent_id, at) select id, 'due soon', true, 'desk', 'ACT', 'NOW' from customer where mail <> '' order by id",
			"insert into unit (kind, customer_id, model_words) select 'fork', id, 'Fork of ' || name from customer where name like 'Rider%' order by id",
			`insert into elsewhere_service (unit_id, ref, day, shop, services, found, readings, settings, actor_id, intent_id, at)
				select id, gen_random_uuid(), (timestamptz 'NOW' - interval '370 days' - (MANY - id) / 10 * interval '1 day')::date, 'Quay Lane Cycles',
					'[{"code": "lower-leg"}]', '[]', '[]', '[]', (select min(id) from staff), 'ACT', 'NOW' from unit`,
		} {
			if _, err := tx.Exec(ctx, words.Replace(sql)); err != nil {
				t.Fatalf("%s: %v", sql, err)
			}
		}
		return history.Append(ctx, tx, by, history.Event{SubjectKind: "customer", SubjectID: c.customer, Customer: c.customer, Kind: "many riders"})
	})
	act := func(ctx context.Context, _ string, do func(pgx.Tx, history.By) error) error {
		return db.Write(ctx, c.pool, func(tx pgx.Tx) error { return do(tx, history.By{At: dbtest.Now, Intent: uuid.New()}) })
	}
	if err := due.Scan(ctx, c.pool, dbtest.Now, act); err != nil {
		t.Fatal(err)
	}
	return c
}

// dueUnits are the forks of manyDue, in the order of the list.
func (c counter) dueUnits() []int64 {
	c.t.Helper()
	rows, _ := c.pool.Query(context.Background(), "select unit_id from due order by due_on, unit_id")
	list, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	if err != nil {
		c.t.Fatal(err)
	}
	return list
}

// count is the one number that a query answers with.
func (c counter) count(sql string) (n int) {
	c.t.Helper()
	if err := c.pool.QueryRow(context.Background(), sql).Scan(&n); err != nil {
		c.t.Fatal(err)
	}
	return n
}
