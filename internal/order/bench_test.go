package order

import (
	"context"
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
)

// BenchmarkLists reads the lists of a shop of many years: 100,000 items of which a
// fifth has a limit, 20,000 orders of ten lines. p95-ms is to stay below 30.
func BenchmarkLists(b *testing.B) {
	ctx, pool := context.Background(), oldShop(b)
	var newest, draft int64
	if err := pool.QueryRow(ctx, "select max(id) filter (where state = 'sent'), max(id) filter (where state = 'draft') from purchase").Scan(&newest, &draft); err != nil {
		b.Fatal(err)
	}
	for _, c := range []struct {
		name string
		read func() error
	}{
		{"open", func() error { _, err := Open(ctx, pool); return err }},
		{"over", func() error { _, _, err := Over(ctx, pool, 0); return err }},
		{"over, far back", func() error { _, _, err := Over(ctx, pool, 900); return err }},
		{"one", func() error { _, err := Lines(ctx, pool, newest); return err }},
		{"lead time", func() error { _, err := Lead(ctx, pool, 7, time.UTC); return err }},
		{"what to order", func() error { _, _, err := Advice(ctx, pool, nil, nil); return err }},
		{"what to order, of thousands", func() error { _, _, err := Advice(ctx, pool, nil, nil); return err }},
	} {
		if c.name == "what to order, of thousands" {
			if _, err := pool.Exec(ctx, "update balance set qty = 1 where item_id % 3 = 0; analyze balance"); err != nil {
				b.Fatal(err)
			}
		}
		b.Run(c.name, func(b *testing.B) {
			var took []time.Duration
			for b.Loop() {
				start := time.Now()
				if err := c.read(); err != nil {
					b.Fatal(err)
				}
				took = append(took, time.Since(start))
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)*95/100].Microseconds())/1000, "p95-ms")
			b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "median-ms")
		})
	}
}

// oldShop is a database with invented rows in bulk. Of its orders sixty are awaited
// and the last ten are drafts; all others were received in one delivery.
func oldShop(b *testing.B) *db.Pool {
	ctx := context.Background()
	address := dbtest.EmptyURL(b)
	if err := db.Migrate(ctx, address); err != nil {
		b.Fatal(err)
	}
	pool, err := db.Open(ctx, address)
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(pool.Close)
	if err := db.Write(ctx, pool, func(tx pgx.Tx) error { return fill(ctx, tx) }); err != nil {
		b.Fatal(err)
	}
	if _, err := pool.Exec(ctx, "reset role; analyze"); err != nil {
		b.Fatal(err)
	}
	return pool
}

func fill(ctx context.Context, tx pgx.Tx) error {
	for _, sql := range []string{
		`set local statement_timeout = 0`,
		`insert into supplier (name, lead_days) select 'Supplier ' || n, 4 from generate_series(1, 40) n`,
		`insert into item (code, code_key, name, kind, measure, low, high)
			select 'P' || n, 'p' || n, 'Part ' || n, 'other part', 'each', case when n % 5 = 0 then n % 7 + 1 end, case when n % 5 = 0 then 20 end
			from generate_series(1, 100000) n`,
		`insert into item_supplier (item_id, supplier_id, code, code_key, pack, price_minor, first)
			select n, n % 40 + 1, 'S' || n, 's' || n, n % 5 + 1, 1000 + n % 900, true from generate_series(1, 100000) n`,
		`insert into intent (id, kind, fingerprint, answer, at)
			select ('00000000-0000-0000-0000-' || lpad(n::text, 12, '0'))::uuid, 'bench', '', '/', timestamptz '2010-01-01' + n * interval '6 hours' from generate_series(1, 20000) n`,
		`insert into purchase (number, supplier_id, state, sent_at, expected_on, made_at)
			select n, n % 40 + 1, case when n > 19990 then 'draft' when n > 19930 then 'sent' else 'received' end,
				case when n <= 19990 then timestamptz '2010-01-01' + n * interval '6 hours' end, case when n <= 19990 then date '2010-01-05' + n / 4 end,
				timestamptz '2010-01-01' + n * interval '6 hours'
			from generate_series(1, 20000) n`,
		`insert into purchase_line (purchase_id, item_id, qty, pack, price_minor)
			select n, (n * 37 + k * 1009) % 100000 + 1, 10, 5, 1000 from generate_series(1, 20000) n, generate_series(1, 10) k`,
		`insert into delivery (purchase_id, begun_at, shelved_at, intent_id)
			select id, sent_at, sent_at + interval '4 days', ('00000000-0000-0000-0000-' || lpad(id::text, 12, '0'))::uuid from purchase where state = 'received'`,
		`insert into move (item_id, seq, kind, qty, cost_minor, value_minor, qty_after, value_after, purchase_line_id, intent_id, at)
			select l.item_id, row_number() over (partition by l.item_id order by l.id), 'receive', 10, 2000, 2000, 10, 2000, l.id, d.intent_id, d.shelved_at
			from purchase_line l join delivery d on d.purchase_id = l.purchase_id`,
		`insert into balance (item_id, qty, value_minor, seq) select n, case when n % 500 = 0 then 1 else 9 end, 900, 2 from generate_series(1, 100000) n`,
	} {
		if _, err := tx.Exec(ctx, sql); err != nil {
			return err
		}
	}
	return nil
}
