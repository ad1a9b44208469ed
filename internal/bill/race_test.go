package bill

import (
	"errors"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// atOnce does an act at two desks at the same time and gives what each was told.
func (c counter) atOnce(pool *pgxpool.Pool, act func(tx pgx.Tx, by history.By) error) [2]error {
	told, start := make(chan error), make(chan struct{})
	for range 2 {
		go func() {
			<-start
			told <- pgx.BeginFunc(ctx, pool, func(tx pgx.Tx) error { return act(tx, dbtest.Act(c.t, tx, c.desk)) })
		}()
	}
	close(start)
	return [2]error{<-told, <-told}
}

// once reports whether one desk was let and the other told no by a fault that
// is meant for people.
func once(told [2]error) bool {
	if told[1] == nil {
		told[0], told[1] = told[1], told[0]
	}
	var invalid *fault.Invalid
	return told[0] == nil && (errors.As(told[1], &invalid) || errors.As(told[1], new(fault.Conflict)))
}

func TestTwoDesksAtOnceChangeABillOnce(t *testing.T) {
	pool := dbtest.Clone(t)
	var c counter
	if err := pgx.BeginFunc(ctx, pool, func(tx pgx.Tx) error { c = openedIn(t, tx); return nil }); err != nil {
		t.Fatal(err)
	}
	bill := func() Bill {
		b, err := Get(ctx, pool, c.visit)
		c.must(err)
		return b
	}
	for _, step := range []struct {
		name string
		act  func(tx pgx.Tx, by history.By) error
		owed int64
	}{
		{"the listed prices", func(tx pgx.Tx, by history.By) error { return TakeListed(ctx, tx, by, c.visit, false) }, 10_800},
		{"a payment", func(tx pgx.Tx, by history.By) error {
			return Pay(ctx, tx, by, c.visit, NewPayment{Kind: "card", Minor: 10_800})
		}, 0},
		{"a payment taken back", func(tx pgx.Tx, by history.By) error {
			return TakeBackPayment(ctx, tx, by, c.visit, bill().Payments[0].ID, "twice")
		}, 10_800},
		{"a line taken back", func(tx pgx.Tx, by history.By) error {
			return TakeBack(ctx, tx, by, c.visit, bill().Lines[0].ID, "twice")
		}, 0},
	} {
		told := c.atOnce(pool, step.act)
		if owed := bill().Balance().OwedMinor(); !once(told) || owed != step.owed {
			t.Errorf("%s: the desks were told %v, %d is owed, want %d", step.name, told, owed, step.owed)
		}
	}
}
