package due_test

import (
	"cmp"
	"context"
	"os"
	"slices"
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
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
)

// shopOf is a shop with so many units of two thirds as many customers, three jobs
// each that ended done, and readings of every kind: of ten units one was never
// asked, six have hours that were stated, three a meter, and seven a habit.
func shopOf(b *testing.B, units int) *db.Pool {
	b.Helper()
	url := dbtest.EmptyURL(b)
	if err := db.Migrate(ctx, url); err != nil {
		b.Fatal(err)
	}
	pool, err := db.Open(ctx, url)
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(pool.Close)
	must := func(err error) {
		b.Helper()
		if err != nil {
			b.Fatal(err)
		}
	}
	must(pgx.BeginFunc(ctx, pool, func(tx pgx.Tx) error {
		by := dbtest.By(b, tx, "owner")
		must(procedure.Install(ctx, tx, by))
		must(interval.Install(ctx, tx, by))
		must(shop.Save(ctx, tx, by, shop.Settings{Name: "Weir Lane Cycles", Zone: "Europe/London", Currency: "GBP", Hemisphere: "north",
			TorqueUnit: "N·m", VolumeUnit: "mL", PressureUnit: "psi", MassUnit: "kg"}))
		words := strings.NewReplacer("UNITS", strconv.Itoa(units), "ACT", by.Intent.String(), "NOW", dbtest.Now.Format(time.RFC3339))
		for _, sql := range []string{
			"insert into customer (name, name_key, phone, mail) select 'Customer ' || n, 'customer ' || n, '07700 900118', 'customer' || n || '@example.com' from generate_series(1, UNITS * 2 / 3) n",
			"insert into consent (customer_id, kind, given, how, intent_id, at) select n, 'due soon', n % 4 < 2, 'page', 'ACT', 'NOW' from generate_series(1, UNITS * 2 / 3) n where n % 4 > 0",
			"insert into unit (kind, customer_id, model_words) select 'fork', n % (UNITS * 2 / 3) + 1, 'Fork ' || n from generate_series(1, UNITS) n",
			`insert into visit (customer_id, promised_at, came, goes_back, currency, opened_at)
				select u.customer_id, t.at, 'counter', 'pickup', 'GBP', t.at - interval '3 days'
				from generate_series(1, 3) n, unit u, lateral (select timestamptz 'NOW' - n * interval '200 days' - u.id % 100 * interval '1 day' as at) t order by n desc, u.id`,
			`insert into job (visit_id, unit_id, stage, ending, opened_at, ready_at, closed_at, ebike, rider_kg)
				select id, (id - 1) % UNITS + 1, 'picked up', 'done', opened_at, promised_at, promised_at + interval '1 day', id % 11 = 0, 60 + id % 60 from visit`,
			"insert into job_service (job_id, service_code, origin) select id, (array['air-spring', 'lower-leg', 'lower-leg', 'full'])[id % 4 + 1], 'drop-off' from job",
			`insert into hour_reading (unit_id, kind, rides_a_week, hours_a_ride, source, intent_id, at)
				select id, 'habit', 0.5 + id % 7 * 0.5, 1 + id % 3 * 0.5, 'rider', 'ACT', timestamptz 'NOW' - interval '300 days' from unit where id % 10 between 3 and 9`,
			`insert into hour_reading (unit_id, kind, hours, since, source, intent_id, at, conditions)
				select j.unit_id, 'stated', 5 + (j.id * 7 + n * 13) % 40, (j.closed_at + (n - 1) * interval '60 days')::date, 'rider', 'ACT', j.closed_at + n * interval '60 days',
					case when j.id % 5 = 0 then '{wet and gritty}'::text[] else '{}' end
				from job j, generate_series(1, 2) n where j.unit_id % 10 between 1 and 6 and j.closed_at + n * interval '60 days' < 'NOW'`,
			`insert into hour_reading (unit_id, kind, hours, on_day, source, intent_id, at)
				select j.unit_id, 'meter', 100 + (j.id / UNITS + 1) * 60 + n * 25, (j.closed_at + n * interval '70 days')::date, 'bike computer', 'ACT', j.closed_at + n * interval '70 days'
				from job j, generate_series(1, 2) n where j.unit_id % 10 between 7 and 9 and j.closed_at + n * interval '70 days' < 'NOW'`,
			"delete from due_stale", "analyze",
		} {
			_, err := tx.Exec(ctx, words.Replace(sql))
			if err != nil {
				b.Fatalf("%s: %v", sql, err)
			}
		}
		return nil
	}))
	return pool
}

// scan is one from nothing.
func scan(b *testing.B, pool *db.Pool) {
	b.Helper()
	if _, err := pool.Exec(ctx, "delete from due_scan"); err != nil {
		b.Fatal(err)
	}
	act := func(ctx context.Context, _ string, do func(pgx.Tx, history.By) error) error {
		return db.Write(ctx, pool, func(tx pgx.Tx) error { return do(tx, history.By{At: dbtest.Now, Intent: uuid.New()}) })
	}
	if err := due.Scan(ctx, pool, dbtest.Now, act); err != nil {
		b.Fatal(err)
	}
}

// BenchmarkScan reckons all units of a shop: into an empty table, then what
// changes from one night to the next, which is next to nothing. peak-MB is the
// most memory the process has had resident meanwhile, without the database.
func BenchmarkScan(b *testing.B) {
	for _, units := range []int{30000, 200000} {
		b.Run(strconv.Itoa(units), func(b *testing.B) {
			pool := shopOf(b, units)
			if err := os.WriteFile("/proc/self/clear_refs", []byte("5"), 0); err != nil {
				b.Log(err)
			}
			began := time.Now()
			scan(b, pool)
			first := time.Since(began).Seconds()
			b.ResetTimer()
			for range b.N {
				scan(b, pool)
			}
			b.ReportMetric(first, "first-s")
			b.ReportMetric(b.Elapsed().Seconds()/float64(b.N), "next-s")
			b.ReportMetric(peak(b), "peak-MB")
		})
	}
}

// peak is the high-water mark of resident memory in MB.
func peak(b *testing.B) float64 {
	b.Helper()
	text, err := os.ReadFile("/proc/self/status")
	if err != nil {
		b.Skip(err)
	}
	for line := range strings.Lines(string(text)) {
		if rest, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			kb, err := strconv.ParseFloat(strings.Fields(rest)[0], 64)
			if err != nil {
				b.Fatal(err)
			}
			return kb / 1024
		}
	}
	return 0
}

// BenchmarkList reads pages of the due list of a shop with 30,000 units.
func BenchmarkList(b *testing.B) {
	pool := shopOf(b, 30000)
	scan(b, pool)
	if _, err := pool.Exec(ctx, "vacuum analyze due"); err != nil {
		b.Fatal(err)
	}
	worth := map[due.Kind]int64{{Service: "lower-leg"}: 6000, {Service: "air-spring"}: 8000, {Service: "full"}: 15000}
	for _, sort := range due.Sorts {
		asks := []due.Ask{{Ring: true}, {Ring: true, From: 10000}, {State: interval.Due}, {State: interval.Fine, From: 3000}, {Service: "lower-leg", Ring: true}, {Service: "full", State: interval.Overdue}}
		b.Run("by "+cmp.Or(string(sort), "most due"), func(b *testing.B) {
			p95(b, func(i int) (int, error) {
				ask := asks[i%len(asks)]
				ask.Rows, ask.Sort, ask.Worth = 100, sort, worth
				list, err := due.List(ctx, pool, dbtest.Now, ask)
				return len(list.Count), err
			})
		})
	}
}

// p95 reports the time below which 95 of 100 calls stay, each of which finds something.
func p95(b *testing.B, do func(i int) (found int, err error)) {
	b.Helper()
	var took []time.Duration
	for i := range max(b.N, 30) {
		began := time.Now()
		if n, err := do(i); err != nil || n == 0 {
			b.Fatalf("%d rows, %v", n, err)
		}
		took = append(took, time.Since(began))
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)*95/100].Microseconds())/1000, "p95-ms")
}

// BenchmarkUrgent reads of a shop with 30,000 units those that a proposal is made of,
// in each order.
func BenchmarkUrgent(b *testing.B) {
	pool := shopOf(b, 30000)
	scan(b, pool)
	if _, err := pool.Exec(ctx, "vacuum analyze due"); err != nil {
		b.Fatal(err)
	}
	p95(b, func(i int) (int, error) {
		list, err := due.Urgent(ctx, pool, dbtest.Now, due.Ask{Sort: due.Sorts[i%len(due.Sorts)], Rows: 2000})
		return len(list), err
	})
}

// BenchmarkChosen reckons a hundred services of a shop with 30,000 units together,
// and, for comparison, one after the other.
func BenchmarkChosen(b *testing.B) {
	pool := shopOf(b, 30000)
	var keys []due.Key
	for unit := int64(1); unit < 30000; unit += 300 {
		keys = append(keys, due.Key{Unit: unit, Service: "lower-leg"})
	}
	chosen := func(keys ...due.Key) (n int) {
		rows, err := due.Chosen(ctx, pool, dbtest.Now, keys)
		if err != nil {
			b.Fatal(err)
		}
		return len(rows)
	}
	began, alone := time.Now(), 0
	for _, k := range keys {
		alone += chosen(k)
	}
	b.ReportMetric(float64(time.Since(began).Microseconds())/1000, "alone-ms")
	began = time.Now()
	for range max(b.N, 1) {
		if n := chosen(keys...); n != alone || n == 0 {
			b.Fatalf("%d together, %d alone", n, alone)
		}
	}
	b.ReportMetric(float64(time.Since(began).Microseconds())/1000/float64(max(b.N, 1)), "together-ms")
}
