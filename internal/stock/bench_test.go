package stock

import (
	"context"
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fold"
)

const (
	manyItems = 100_000
	manyMoves = 2_000_000
)

// asked are pages of the list, and how people come to them.
var asked = []struct {
	name   string
	filter Filter
}{
	{"first page", Filter{}},
	{"page deep in", Filter{After: "p093000"}},
	{"rare word", Filter{Words: "tamarack"}},
	{"very common word", Filter{Words: "wiper"}},
	{"common and rare word", Filter{Words: "wiper 77777"}},
	{"begun word", Filter{Words: "wi"}},
	{"code", Filter{Words: "P077777"}},
	{"words that fit nothing", Filter{Words: "wiper zzyzx"}},
	{"kind", Filter{Kind: "seal set"}},
	{"place", Filter{Place: "Drawer 123"}},
	{"place and word", Filter{Place: "Drawer 123", Words: "wiper"}},
	{"low", Filter{State: StateLow}},
	{"none there", Filter{State: StateNone}},
	{"below zero", Filter{State: StateBelow}},
	{"set aside too much", Filter{State: StateAside}},
	{"never bought", Filter{State: StateNoPrice}},
	{"low, rare word", Filter{State: StateLow, Words: "tamarack"}},
	{"supplier", Filter{Supplier: 3}},
	{"supplier, deep in", Filter{Supplier: 3, After: "p093000"}},
}

// BenchmarkShelf asks a shelf of many years; p95-ms is to stay at most 30.
func BenchmarkShelf(b *testing.B) {
	pool := oldShelf(b)
	ctx := context.Background()
	for _, c := range asked {
		timed(b, "list "+c.name, func() error { _, _, err := List(ctx, pool, c.filter); return err })
	}
	timed(b, "places", func() error { _, err := Places(ctx, pool); return err })
	for _, text := range []string{"P077777", "NG77777", "https://desk.test/parts/77777", "no such code"} {
		timed(b, "scan "+text, func() error {
			if i, err := Scan(ctx, pool, text); err == nil && i.ID != 77777 {
				b.Fatalf("%q leads to %d", text, i.ID)
			}
			return nil
		})
	}
	timed(b, "entries, newest", func() error { _, err := Entries(ctx, pool, 1, 0); return err })
	timed(b, "entries, deep in", func() error { _, err := Entries(ctx, pool, 1, 15_000); return err })
	timed(b, "entries of a rare item", func() error { _, err := Entries(ctx, pool, 77777, 0); return err })
	timed(b, "batches", func() error { _, err := Batches(ctx, pool, 2); return err })
	timed(b, "get", func() error { _, err := Get(ctx, pool, 77777); return err })
}

func timed(b *testing.B, name string, ask func() error) {
	b.Run(name, func(b *testing.B) {
		var took []time.Duration
		for b.Loop() {
			start := time.Now()
			if err := ask(); err != nil {
				b.Fatal(err)
			}
			took = append(took, time.Since(start))
		}
		slices.Sort(took)
		b.ReportMetric(float64(took[len(took)*95/100].Microseconds())/1000, "p95-ms")
		b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "median-ms")
	})
}

// oldShelf is a database with invented rows in bulk: a tenth of the moves are of
// one item, forty thousand of one that is kept by batch.
func oldShelf(b *testing.B) *db.Pool {
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
	for _, sql := range []string{"reset role", "vacuum analyze item", "vacuum analyze balance", "vacuum analyze move", "analyze"} {
		if _, err := pool.Exec(ctx, sql); err != nil {
			b.Fatal(err)
		}
	}
	return pool
}

func fill(ctx context.Context, tx pgx.Tx) error {
	details := make([][]any, manyItems)
	kinds := []Sort{"wiper", "wiper", "wiper", "foam ring", "seal set", "spring", "spacer", Fluid}
	for n := range details {
		kind := kinds[n%len(kinds)]
		name := string(kind) + " for the long forks of size " + Each.Field(int64(n))
		if n%20_000 == 7 {
			name += " tamarack"
		}
		d := Details{Code: "P" + Each.Field(int64(1_000_000 + n + 1))[1:], Name: name, Kind: kind, Place: "Drawer " + Each.Field(int64(n%2000))}
		details[n] = []any{d.Code, fold.Code(d.Code), d.Name, d.Kind, d.Place, d.grams(), n%25 == 0, n == 1}
	}
	if _, err := tx.Exec(ctx, "set local statement_timeout = 0; create temporary table told (code text, key text, name text, kind text, place text, grams text[], low boolean, batched boolean) on commit drop"); err != nil {
		return err
	}
	if _, err := tx.CopyFrom(ctx, pgx.Identifier{"told"}, []string{"code", "key", "name", "kind", "place", "grams", "low", "batched"}, pgx.CopyFromRows(details)); err != nil {
		return err
	}
	_, err := tx.Exec(ctx, `insert into intent (id, kind, fingerprint, at, answer) values ('00000000-0000-0000-0000-000000000001', 'bulk', '', now(), '');
		insert into item (code, code_key, name, kind, measure, place, low, batched, grams, keyed)
			select code, key, name, kind, 'each', place, case when low then 4 end, batched, grams, 1 from told order by code;
		insert into supplier (name, lead_days) select 'Supplier ' || n, 3 from generate_series(1, 20) n;
		insert into item_supplier (item_id, supplier_id, code, code_key, pack, first) select i, i % 20 + 1, 'NG' || i, 'ng' || i, 1, true from generate_series(1, 100000) i;
		insert into batch (item_id, code, intent_id, at) select 2, 'L' || n, '00000000-0000-0000-0000-000000000001', now() from generate_series(1, 200) n`)
	if err != nil {
		return err
	}
	// Every item comes in and goes out by turns and is there in the end, but where a
	// move more took the last, or one beyond it.
	_, err = tx.Exec(ctx, `insert into move (item_id, seq, kind, qty, cost_minor, value_minor, qty_after, value_after, batch_id, intent_id, at)
		select item, seq, case when seq % 2 = 1 then 'receive' else 'use' end, case when seq % 2 = 1 then 5 else -5 end,
			case when seq % 2 = 1 then 500 else -500 end, case when seq % 2 = 1 then 500 else -500 end, seq % 2 * 5, seq % 2 * 500,
			case when item = 2 then (seq + seq % 2) / 2 % 200 + 1 end, '00000000-0000-0000-0000-000000000001', timestamptz '2016-01-01' + (n || ' minutes')::interval
		from (select n, item, row_number() over (partition by item order by n) as seq
			from generate_series(1, $1::int) n, lateral (select case when n % 10 = 0 then 1 when n % 50 = 1 then 2 else 3 + n::bigint * 7919 % 99998 end as item) i) m`, manyMoves)
	if err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `insert into balance (item_id, qty, value_minor, seq, paid_minor, paid_qty)
			select distinct on (item_id) item_id, qty_after, value_after, seq, 500, 5 from move order by item_id, seq desc;
		update balance set qty = -1, value_minor = -100 where item_id % 9000 = 11;
		update balance set aside = 9 where item_id % 8000 = 13;
		update balance set qty = 5, value_minor = 500 where qty = 0 and item_id % 20 > 0 and item_id > 2`)
	return err
}
