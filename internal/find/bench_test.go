package find_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/find"
)

const (
	manyCustomers = 20_000
	manyUnits     = 30_000
	manyJobs      = 60_000
	openJobs      = 150
)

var searches = []struct{ name, text string }{
	{"ticket", "41000"},
	{"serial", "QX012345"},
	{"begun serial", "QX01"},
	{"inside a serial", "12345"},
	{"whole phone", "+44 7700 912345"},
	{"last three digits", "345"},
	{"phone as it is typed", "0770"},
	{"mail", "odette1234@example"},
	{"name", "odette marsh"},
	{"mistyped name", "odtete mrash"},
	{"long mistyped name", "kirkarbunthale"},
	{"three letters", "mar"},
	{"two letters", "ma"},
	{"one letter", "m"},
	{"name and a letter", "odette m"},
	{"only letters", "a b c d e f g h"},
	{"colour", "green"},
	{"mistyped colour", "gren"},
	{"bike", "green hardtail"},
	{"name and colour", "marsh green"},
	{"model", "lode"},
	{"maker", "tindra"},
	{"everything", "tindra lode green hardtail odette marsh"},
	{"name and another number", "odette marsh 07700 111 222"},
	{"nothing", "zzyzx qwrtp"},
}

// BenchmarkAll searches a shop of many years; p95-ms is to stay below 50.
func BenchmarkAll(b *testing.B) {
	pool := oldShop(b)
	for _, c := range searches {
		b.Run(c.name, func(b *testing.B) {
			var took []time.Duration
			for b.Loop() {
				start := time.Now()
				if _, err := find.All(context.Background(), pool, c.text); err != nil {
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

// oldShop is a database with invented rows in bulk, keyed as an older database
// is at the first start.
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
	start := time.Now()
	if err := customer.Rekey(ctx, pool); err != nil {
		b.Fatal(err)
	}
	b.Logf("keys for %d rows made in %v", manyCustomers+2*manyUnits, time.Since(start))
	if _, err := pool.Exec(ctx, "reset role; analyze"); err != nil {
		b.Fatal(err)
	}
	return pool
}

func fill(ctx context.Context, tx pgx.Tx) error {
	if _, err := tx.Exec(ctx, "set local statement_timeout = 0"); err != nil {
		return err
	}
	r := rand.New(rand.NewPCG(1, 2))
	first, last := invented(r, 600, "Odette"), invented(r, 4000, "Marsh")
	of := func(list []string) string { return list[int(float64(len(list))*r.Float64()*r.Float64())] } // some are common
	_, err := tx.CopyFrom(ctx, pgx.Identifier{"customer"}, []string{"name", "name_key", "phone", "mail"},
		pgx.CopyFromSlice(manyCustomers, func(i int) ([]any, error) {
			name := of(first)
			return []any{name + " " + of(last), "", fmt.Sprintf("07700 %06d", 900000+r.IntN(100000)), fmt.Sprintf("%s%d@example.com", strings.ToLower(name), i)}, nil
		}))
	if err != nil {
		return err
	}
	_, err = tx.CopyFrom(ctx, pgx.Identifier{"model"}, []string{"kind", "maker", "name", "spring", "damper"},
		pgx.CopyFromSlice(80, func(i int) ([]any, error) {
			return []any{"fork", []string{"Tindra", "Orrin", "Fellbeck", "Sarn"}[i%4], []string{"Lode", "Sill", "Kelp", "Berm"}[i%4] + fmt.Sprint(" ", i/4), "air", "sealed"}, nil
		}))
	if err != nil {
		return err
	}
	colours := strings.Fields("green red black white blue grey orange yellow teal plum sand mint silver bronze violet lime")
	bikes := strings.Fields("hardtail trail-bike downhill-bike e-bike commuter cross-country-bike tandem cargo-bike")
	_, err = tx.CopyFrom(ctx, pgx.Identifier{"bike"}, []string{"customer_id", "words", "colour", "frame_no"},
		pgx.CopyFromSlice(manyUnits, func(i int) ([]any, error) {
			return []any{i%manyCustomers + 1, of(bikes), of(colours), fmt.Sprintf("WB%07d", r.IntN(1e7))}, nil
		}))
	if err != nil {
		return err
	}
	_, err = tx.CopyFrom(ctx, pgx.Identifier{"unit"}, []string{"kind", "customer_id", "bike_id", "model_id", "model_words", "serial", "tag"},
		pgx.CopyFromSlice(manyUnits, func(i int) ([]any, error) {
			tag := ""
			if i%20 == 0 {
				tag = fmt.Sprintf("T%d", i)
			}
			return []any{"fork", i%manyCustomers + 1, i + 1, i%80 + 1, "", fmt.Sprintf("%c%c%06d", 'A'+rune(r.IntN(26)), 'A'+rune(r.IntN(26)), r.IntN(1e6)), tag}, nil
		}))
	if err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `update unit set serial = 'QX012345' where id = 7;
		insert into visit (customer_id, promised_at, came, goes_back, currency, opened_at)
			select n % 20000 + 1, timestamptz '2016-01-01' + n * interval '1 hour', 'counter', 'pickup', 'GBP', timestamptz '2016-01-01' + n * interval '1 hour'
			from generate_series(0, `+fmt.Sprint(manyJobs-1)+`) n`)
	if err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `insert into job (number, visit_id, unit_id, stage, ending, opened_at, closed_at)
		select 1000 + v.id, v.id, (v.id - 1) % $1 + 1, case when v.id > $2 then 'in the queue' else 'picked up' end,
			case when v.id > $2 then null else 'done' end, v.opened_at, case when v.id > $2 then null else v.opened_at + interval '3 days' end
		from visit v`, manyUnits, manyJobs-openJobs)
	return err
}

// invented are n names of nobody, after given.
func invented(r *rand.Rand, n int, given string) []string {
	syllables := strings.Fields("al an ar be bor bun ca dal den el er fen gar ha hol il in kir la le lin mar mo na ne nor o per quo ra ro sel ta thal tor u va we wyn ye")
	list := []string{given}
	for len(list) < n {
		var b strings.Builder
		for range 2 + r.IntN(3) {
			b.WriteString(syllables[r.IntN(len(syllables))])
		}
		list = append(list, strings.ToUpper(b.String()[:1])+b.String()[1:])
	}
	return list
}
