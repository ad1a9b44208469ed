package stock

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"pgregory.net/rapid"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/intent"
)

// errBroken breaks a transaction off after its work and before its commit.
var errBroken = errors.New("broken off")

// trade is one thing that hands do to the ledger.
type trade struct {
	Kind string // of trades
	Item int    // of the shelf
	Qty  int64
	Ends string // of endings
}

var (
	trades  = []string{"receive", "use", "use set aside", "return", "write off", "set aside", "release", "take back", "count", "post counts"}
	endings = []string{"commits", "commits", "commits", "commits", "breaks off", "is killed"}
)

func drawTrade(t *rapid.T) trade {
	return trade{rapid.SampledFrom(trades).Draw(t, "trade"), rapid.IntRange(0, 2).Draw(t, "item"),
		rapid.Int64Range(1, 9).Draw(t, "qty"), rapid.SampledFrom(endings).Draw(t, "ends")}
}

// bazaar is a database where several hands trade at once. What was acknowledged is
// kept beside it.
type bazaar struct {
	t     *testing.T
	pool  *db.Pool
	items []int64
	count int64 // open all the time, or the latest

	mu    sync.Mutex
	moves map[int64]Move // acknowledged, by id
	aside map[int64]int64
}

func newBazaar(t *testing.T) *bazaar {
	z := &bazaar{t: t, pool: dbtest.Clone(t), moves: map[int64]Move{}, aside: map[int64]int64{}}
	err := z.act(func(tx pgx.Tx, by history.By) error {
		for i := range 3 {
			d := wiper(fmt.Sprint("w", i))
			d.Batched = i == 2
			id, err := Add(t.Context(), tx, by, d)
			if err != nil {
				return err
			}
			z.items = append(z.items, id)
		}
		var err error
		z.count, err = BeginCount(t.Context(), tx, by, "A3")
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// act is an act of the shop as the web does it, an owner's.
func (z *bazaar) act(fn func(pgx.Tx, history.By) error) error {
	by := history.By{At: dbtest.Now, Roles: []string{"owner"}, Intent: uuid.New()}
	a := intent.Act{ID: by.Intent, Kind: "trade", Fingerprint: []byte{}, At: by.At}
	_, err := intent.Do(context.Background(), z.pool, a, func(tx pgx.Tx) (string, error) { return "/", fn(tx, by) })
	return err
}

// do trades. What it made is acknowledged only once the act came back without error.
func (z *bazaar) do(c trade) error {
	var made []Move
	var aside int64
	killed := false
	err := z.act(func(tx pgx.Tx, by history.By) (err error) {
		made, aside = nil, 0
		if made, aside, err = z.trade(tx, by, c); err != nil {
			return err
		}
		switch {
		case c.Ends == "breaks off":
			return errBroken
		case c.Ends == "is killed" && !killed:
			killed = true
			return z.kill(tx)
		}
		return nil
	})
	refused := errors.As(err, new(fault.Conflict)) || errors.As(err, new(*fault.Invalid)) || errors.As(err, new(fault.NotFound))
	switch {
	case errors.Is(err, errBroken), refused:
		return nil
	case err != nil:
		return err
	}
	z.mu.Lock()
	defer z.mu.Unlock()
	for _, m := range made {
		z.moves[m.ID] = m
	}
	z.aside[z.items[c.Item]] += aside
	return nil
}

// kill ends the connection of a transaction from another one, as a server does that
// fails over; the act is then done again by itself.
func (z *bazaar) kill(tx pgx.Tx) error {
	ctx := context.Background()
	other, err := pgx.ConnectConfig(ctx, z.pool.Config().ConnConfig.Copy()) // under the login, which may
	if err != nil {
		return err
	}
	defer other.Close(ctx)
	if _, err := other.Exec(ctx, "select pg_terminate_backend($1)", tx.Conn().PgConn().PID()); err != nil {
		return fmt.Errorf("kill a connection: %w", err)
	}
	for err == nil {
		_, err = tx.Exec(ctx, "select 1")
	}
	return err
}

// trade does one, and says which moves it made and what it changed of what is aside.
func (z *bazaar) trade(tx pgx.Tx, by history.By, c trade) (made []Move, aside int64, err error) {
	ctx, item := context.Background(), z.items[c.Item]
	one := func(p Posting) ([]Move, int64, error) {
		p.Item, p.Qty = item, c.Qty
		if p.Kind == Receive && c.Item == 2 {
			if p.Batch, err = TakeBatch(ctx, tx, by, item, "L1", nil); err != nil {
				return nil, 0, err
			}
		}
		m, err := Post(ctx, tx, by, p)
		return []Move{m}, -p.Aside, err
	}
	switch c.Kind {
	case "receive":
		return one(Posting{Kind: Receive, Cost: 97 * c.Qty})
	case "use":
		return one(Posting{Kind: Use})
	case "return":
		return one(Posting{Kind: Return})
	case "write off":
		return one(Posting{Kind: WriteOff, Reason: "Broken"})
	case "use set aside", "set aside", "release":
		return z.tradeAside(tx, by, c)
	case "take back":
		return z.takeBack(tx, by, item)
	case "count":
		return nil, 0, TypeCount(ctx, tx, by, z.latest(), item, c.Qty)
	}
	return z.postCounts(tx, by)
}

func (z *bazaar) tradeAside(tx pgx.Tx, by history.By, c trade) ([]Move, int64, error) {
	ctx, item := context.Background(), z.items[c.Item]
	s, err := Lock(ctx, tx, item)
	if err != nil {
		return nil, 0, err
	}
	there := s.Of(item)
	switch part := min(c.Qty, there.Aside); {
	case c.Kind == "set aside":
		return nil, c.Qty, s.SetAside(ctx, tx, item, c.Qty)
	case part == 0:
		return nil, 0, nil
	case c.Kind == "release":
		return nil, -part, s.SetAside(ctx, tx, item, -part)
	default:
		m, err := s.Post(ctx, tx, by, Posting{Item: item, Kind: Use, Qty: part, Aside: part})
		return []Move{m}, -part, err
	}
}

// takeBack answers the latest move of an item that stands.
func (z *bazaar) takeBack(tx pgx.Tx, by history.By, item int64) ([]Move, int64, error) {
	list, err := Entries(context.Background(), tx, item, 0)
	if err != nil {
		return nil, 0, err
	}
	for _, e := range list {
		if e.Standing() {
			m, err := TakeBack(context.Background(), tx, by, e.ID, "Wrong")
			return []Move{m}, 0, err
		}
	}
	return nil, 0, nil
}

func (z *bazaar) latest() int64 {
	z.mu.Lock()
	defer z.mu.Unlock()
	return z.count
}

// postCounts approves the count as it stands, and begins the next. A doubtful line
// is dropped with its count.
func (z *bazaar) postCounts(tx pgx.Tx, by history.By) ([]Move, int64, error) {
	ctx, count := context.Background(), z.latest()
	list, err := Differences(ctx, tx, count)
	if err != nil {
		return nil, 0, err
	}
	if firstDoubtful(list) != "" {
		err = DropCount(ctx, tx, by, count)
	} else {
		err = PostCount(ctx, tx, by, count, Mark(list))
	}
	if err != nil {
		return nil, 0, err
	}
	rows, err := tx.Query(ctx, selectEntry+" join count_line l on l.id = m.count_line_id where l.count_id = $1", count)
	entries, err := db.All[Entry](rows, err)
	if err != nil {
		return nil, 0, err
	}
	var made []Move
	for _, e := range entries {
		made = append(made, e.Move)
	}
	_, err = BeginCount(ctx, tx, by, "A3")
	return made, 0, err
}

// settle finds the count that is open after a posting, whoever began it.
func (z *bazaar) settle() {
	z.mu.Lock()
	defer z.mu.Unlock()
	if err := z.pool.QueryRow(context.Background(), "select id from stock_count where state = 'open'").Scan(&z.count); err != nil {
		z.t.Fatal(err)
	}
}

// check compares the database with itself, rebuilt, and with what was acknowledged.
func (z *bazaar) check(t *rapid.T) {
	ctx := context.Background()
	found := 0
	for _, id := range z.items {
		moves, err := Moves(ctx, z.pool, id)
		if err != nil {
			t.Fatal(err)
		}
		item, err := Get(ctx, z.pool, id)
		if err != nil {
			t.Fatal(err)
		}
		sum := int64(0)
		for i, m := range moves {
			sum += m.Qty
			kept, acknowledged := z.moves[m.ID]
			if !acknowledged || kept.Qty != m.Qty || kept.CostMinor != m.CostMinor || kept.QtyAfter != m.QtyAfter || m.Seq != i+1 {
				t.Fatalf("item %d has %+v, and what was acknowledged is %+v (%v)", id, m, kept, acknowledged)
			}
		}
		found += len(moves)
		balance, again := Rebuild(moves)
		if balance != item.Balance() || sum != item.Qty {
			t.Fatalf("item %d: the balance is %+v, rebuilt %+v, its moves come to %d", id, item.Balance(), balance, sum)
		}
		for i := range moves {
			if again[i] != moves[i] {
				t.Fatalf("item %d: kept %+v, rebuilt %+v", id, moves[i], again[i])
			}
		}
		if item.Aside != z.aside[id] || item.Aside < 0 {
			t.Fatalf("item %d: %d set aside, and %d was acknowledged", id, item.Aside, z.aside[id])
		}
	}
	if found != len(z.moves) {
		t.Fatalf("%d moves are there of %d acknowledged", found, len(z.moves))
	}
}

// Whatever several hands do at once, with transactions that break off and connections
// that are killed: every acknowledged move is there and no other, the balance is the
// sum of the moves and what Rebuild makes of them, with every cost. The invariants of
// the shop are checked when the clone is given back.
func TestTheLedgerStandsWhateverHappens(t *testing.T) {
	z := newBazaar(t)
	rapid.Check(t, func(t *rapid.T) {
		hands := rapid.SliceOfN(rapid.SliceOfN(rapid.Custom(drawTrade), 1, 6), 2, 4).Draw(t, "hands")
		var all sync.WaitGroup
		errs := make(chan error, len(hands))
		for _, hand := range hands {
			all.Go(func() {
				for _, c := range hand {
					if err := z.do(c); err != nil {
						errs <- fmt.Errorf("%+v: %w", c, err)
						return
					}
				}
			})
		}
		all.Wait()
		close(errs)
		for err := range errs {
			t.Fatal(err)
		}
		z.settle()
		z.check(t)
	})
	for i := range z.items { // nothing lies aside but for the needs of jobs, and there are none here
		if err := z.do(trade{Kind: "release", Item: i, Qty: mostAmount}); err != nil {
			t.Fatal(err)
		}
	}
	kinds := map[Kind]int{}
	for _, m := range z.moves {
		kinds[m.Kind]++
	}
	t.Logf("%d moves were acknowledged: %v", len(z.moves), kinds)
	for _, kind := range []Kind{Receive, Use, Return, Count, WriteOff} {
		if kinds[kind] == 0 {
			t.Errorf("no %s came about, so nothing is shown for it", kind)
		}
	}
}
