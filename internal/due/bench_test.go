package due_test

import (
	"strings"
	"testing"

	"damperdesk/internal/due"
)

// BenchmarkList reads the due list of a shop with 30,000 units of 20,000
// customers, three jobs and two readings each.
func BenchmarkList(b *testing.B) {
	s := newBench(b, "north")
	for _, sql := range []string{
		"insert into customer (name, name_key, phone) select 'Customer ' || n, 'customer ' || n, '07700 900118' from generate_series(1, 20000) n",
		`insert into unit (kind, customer_id, model_words) select 'fork', c.id, 'Fork ' || g
			from generate_series(1, 30000) g join (select id, row_number() over (order by id) as n from customer) c on c.n = g % 20000 + 1`,
		`insert into visit (customer_id, promised_at, came, goes_back, currency, opened_at)
			select customer_id, $1::timestamptz - n * interval '200 days', 'counter', 'pickup', 'GBP', $1::timestamptz - n * interval '203 days'
			from unit cross join generate_series(1, 3) n`,
		`insert into job (visit_id, unit_id, stage, ending, opened_at, ready_at, closed_at)
			select v.id, u.id, 'picked up', 'done', v.opened_at, v.promised_at - u.id % 100 * interval '1 day', v.promised_at - u.id % 100 * interval '1 day'
			from (select id, customer_id, row_number() over (order by id) as n from unit) u
			join (select *, (row_number() over (order by id) - 1) / 3 + 1 as n from visit) v on v.n = u.n`,
		"insert into job_service (job_id, service_code, origin) select id, case id % 3 when 0 then 'air-spring' else 'lower-leg' end, 'drop-off' from job",
		`insert into hour_reading (unit_id, kind, rides_a_week, hours_a_ride, source, intent_id, at)
			select id, 'habit', id % 4, 1.5, 'rider', (select max(id::text)::uuid from intent), $1 from unit`,
		`insert into hour_reading (unit_id, kind, hours, source, intent_id, at)
			select id, 'stated', id % 60, 'rider', (select max(id::text)::uuid from intent), $1 from unit`,
	} {
		args := []any{s.by.At}
		if !strings.Contains(sql, "$1") {
			args = nil
		}
		if _, err := s.tx.Exec(ctx, sql, args...); err != nil {
			b.Fatalf("%s: %v", sql, err)
		}
	}
	b.ResetTimer()
	for range b.N {
		list, err := due.List(ctx, s.tx, s.by.At, due.Ask{Rows: 100})
		if err != nil || len(list.Rows) < 30000 {
			b.Fatalf("%d rows, %v", len(list.Rows), err)
		}
	}
}
