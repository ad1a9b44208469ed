package advice

import (
	"context"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
)

// BenchmarkDo reckons 5,000 items that are kept, of 100,000 with two million moves in
// the ledger, in a run as the job does it: read, reckoned and kept. It is to stay
// below five seconds.
func BenchmarkDo(b *testing.B) {
	ctx := context.Background()
	address := dbtest.EmptyURL(b)
	if err := db.Migrate(ctx, address); err != nil {
		b.Fatal(err)
	}
	conn, err := pgx.Connect(ctx, address) // as the owner
	if err != nil {
		b.Fatal(err)
	}
	if _, err := conn.Exec(ctx, manyMoves); err != nil {
		b.Fatal(err)
	}
	conn.Close(ctx)
	pool, err := db.Open(ctx, address)
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(pool.Close)
	act := func(ctx context.Context, _ string, do func(pgx.Tx, history.By) error) error {
		return db.Write(ctx, pool, func(tx pgx.Tx) error { return do(tx, dbtest.Act(b, tx, history.By{At: dbtest.Now})) })
	}
	for b.Loop() {
		var run int64
		err := db.Write(ctx, pool, func(tx pgx.Tx) (err error) {
			run, _, err = Ask(ctx, tx, dbtest.Act(b, tx, history.By{At: dbtest.Now}))
			return err
		})
		if err != nil {
			b.Fatal(err)
		}
		if err := Do(ctx, pool, run, dbtest.Now, time.UTC, act); err != nil {
			b.Fatal(err)
		}
	}
	var items, reckoned, moves int
	err = pool.QueryRow(ctx, `select count(*), count(*) filter (where state = 'reckoned'), (select count(*) from move) from advice`).Scan(&items, &reckoned, &moves)
	if err != nil || items != 5000 || reckoned < 4000 || moves < 2_000_000 {
		b.Errorf("%d items, %d of them reckoned, %d moves, %v", items, reckoned, moves, err)
	}
	b.ReportMetric(b.Elapsed().Seconds()/float64(b.N), "s/run")
}

// manyMoves: 200 uses of each item that is kept over four years, some empty shelves,
// and ten of each that was given up.
const manyMoves = `set session_replication_role = replica;
	insert into intent (id, kind, fingerprint, answer, at) values ('00000000-0000-0000-0000-000000000001', 'test', '', '/', now());
	insert into supplier (name, lead_days, order_days) select 'Supplier ' || n, n, '{1,4}' from generate_series(1, 20) n;
	insert into item (code, code_key, name, kind, measure, left_on)
		select 'P' || n, 'p' || n, 'Part ' || n, 'wiper', 'each', case when n > 5000 then date '2024-01-01' end from generate_series(1, 100000) n;
	insert into item_supplier (item_id, supplier_id, pack, price_minor, first) select n, 1 + n % 20, 1 + n % 7, 100 + n, true from generate_series(1, 5000) n;
	insert into move (item_id, seq, kind, qty, cost_minor, value_minor, qty_after, value_after, intent_id, at)
		select i, s, case when s % 20 = 1 then 'receive' else 'use' end, case when s % 20 = 1 then 60 else -(1 + (i * 31 + s * 17) % 5) end, 0, 0,
			case when s % 40 = 0 then 0 else 10 end, 0, '00000000-0000-0000-0000-000000000001',
			timestamptz '2026-10-12' - interval '1460 days' + (1460 * (s - 0.5 * ((i * s) % 2)) / case when i <= 5000 then 210 else 11 end) * interval '1 day'
		from generate_series(1, 210) s, generate_series(1, 100000) i where i <= 5000 or s <= 10 + i % 2;
	insert into balance (item_id, qty, value_minor, seq) select n, 10, 100, 210 from generate_series(1, 5000) n;
	set session_replication_role = origin;
	analyze`
