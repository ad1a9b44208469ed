package bill

import (
	"context"
	"slices"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
)

// beforeClaims is the schema in which all claims of a visit had one balance.
const beforeClaims = 52

// committed runs an act of a test in a transaction of its own.
func (c *counter) committed(to interface {
	Begin(context.Context) (pgx.Tx, error)
}, act func()) {
	c.t.Helper()
	c.must(pgx.BeginFunc(ctx, to, func(tx pgx.Tx) error {
		c.tx = tx
		act()
		return nil
	}))
}

// paidTogether writes payments as they were kept before claims were told apart;
// the amounts of one act are in one list.
func (c *counter) paidTogether(conn *pgx.Conn, acts ...[]string) {
	c.t.Helper()
	for _, rows := range acts {
		c.committed(conn, func() {
			by := c.by(c.desk)
			c.must(history.Append(ctx, c.tx, by, history.Event{SubjectKind: "visit", SubjectID: c.visit, Kind: "paid"}))
			for _, row := range rows {
				c.exec(`insert into payment (visit_id, payer, currency, intent_id, at, kind, minor, owed_minor, reverses, rounds, reason)
					select $1, 'warranty', 'GBP', $2, $3, `+row, c.visit, by.Intent, by.At)
			}
		})
	}
}

// Source: decimal arithmetic by hand, 22.00 and 11.00 with a fifth of tax. That
// check finds nothing after it dbtest.URL sees to.
func TestWhatClaimsPaidTogetherIsPartedByWhatEachOwed(t *testing.T) {
	url := dbtest.URL(t)
	c := &counter{t: t}
	conn, err := pgx.Connect(ctx, url)
	c.must(err)
	defer conn.Close(ctx)
	c.committed(conn, func() {
		*c = openedIn(t, c.tx)
		for i, claim := range []string{"claim 2041", "claim 2042"} {
			c.add(NewLine{Payer: ByWarranty, PayerWords: claim, QtyMilli: int64(2000 - 1000*i), Kind: "part", Words: "Wipers", UnitMinor: 1100, TaxCode: "A"})
		}
	})
	have, _, err := db.Versions(ctx, conn)
	c.must(err)
	c.must(db.MigrateDown(ctx, url, have-beforeClaims))
	const first = "(select min(id) from payment)"
	c.paidTogether(conn,
		[]string{"'bank transfer', 3000, 3960, null, null, ''"},
		[]string{"'bank transfer', -3000, 960, " + first + ", null, 'bounced'"},
		[]string{"'card', 2000, 3960, null, null, ''"},
		[]string{"'cash', 1955, 1960, null, null, ''", "'rounding', 5, 5, null, " + first + " + 3, ''"})
	c.must(db.Migrate(ctx, url))
	after, err := pgx.Connect(ctx, url)
	c.must(err)
	defer after.Close(ctx)
	b, err := Get(ctx, after, c.visit)
	c.must(err)
	got := map[string][]int64{}
	for _, p := range b.Payments {
		got[p.PayerWords] = append(got[p.PayerWords], p.MinorPaid)
	}
	if !slices.Equal(got["claim 2041"], []int64{2640, -2640, 2000, 640}) || !slices.Equal(got["claim 2042"], []int64{5, 360, -360, 1315}) {
		t.Errorf("parted it is %v", got)
	}
	for _, p := range b.Payers() {
		if owed := b.BalanceOf(p).OwedMinor(); owed != 0 {
			t.Errorf("%v owes %d", p, owed)
		}
	}
	c.must(db.MigrateDown(ctx, url, have-beforeClaims))
	c.owedTogether(url)
	c.must(db.Migrate(ctx, url))
}

// owedTogether reads what was owed before each payment in the schema that had one
// balance for all claims: all that is billed, less all that was paid before.
func (c *counter) owedTogether(url string) {
	c.t.Helper()
	conn, err := pgx.Connect(ctx, url)
	c.must(err)
	defer conn.Close(ctx)
	rows, err := conn.Query(ctx, "select minor, owed_minor from payment order by id")
	c.must(err)
	left, paid := int64(3960), 0
	var minor, owed int64
	_, err = pgx.ForEachRow(rows, []any{&minor, &owed}, func() error {
		if owed != left {
			c.t.Errorf("before %d were paid, %d were owed, want %d", minor, owed, left)
		}
		left, paid = left-minor, paid+1
		return nil
	})
	c.must(err)
	if left != 0 || paid < 5 {
		c.t.Errorf("after %d payments %d are owed", paid, left)
	}
}
