package order

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/money"
	"damperdesk/internal/stock"
)

// Arrival is what a delivery brought and what of its order is still to come.
type Arrival struct {
	Order int64
	State State
	Items []Arrived
	Left  []Left
}

// Arrived is an amount that is on the shelf now.
type Arrived struct {
	Line int64
	Item int64
	Job  int64 // it was ordered for; 0: the shelf
	Qty  int64
	Move int64
}

// Left is a line that is not complete, or that something was wrong with.
type Left struct {
	Line       int64
	Item       int64
	Job        int64
	Qty        int64 // still awaited; 0: none of it
	Cancelled  int64 // in this delivery
	Short      string
	Words      string
	ExpectedOn *time.Time // what is awaited
}

// Receive puts on the shelf what was counted of a delivery: all of it or nothing.
// It keeps what came short, wrong or broken, and the prices that are to stay.
func Receive(ctx context.Context, tx pgx.Tx, by history.By, order int64, version int, counted []Counted) (Arrival, error) {
	if err := mayKeep(by); err != nil {
		return Arrival{}, err
	}
	o, err := hold(ctx, tx, order, version)
	if err != nil {
		return Arrival{}, err
	}
	delivery, err := keepCounted(ctx, tx, by, o, counted)
	if err != nil {
		return Arrival{}, err
	}
	r := receipt{o: o, counted: counted, lines: map[int64]Line{}, extra: map[int64]Line{}, items: map[int64]stock.Item{}}
	if err := r.read(ctx, tx); err != nil {
		return Arrival{}, err
	}
	if err := r.check(); err != nil {
		return Arrival{}, err
	}
	for _, do := range []func(context.Context, pgx.Tx, history.By) error{r.addLines, r.post, r.fallShort, r.keepPrices} {
		if err := do(ctx, tx, by); err != nil {
			return Arrival{}, err
		}
	}
	_, err = tx.Exec(ctx, "update delivery set shelved_at = $2, intent_id = $3 where id = $1", delivery, by.At, by.Intent)
	if err != nil {
		return Arrival{}, fmt.Errorf("receive order %d: %w", order, err)
	}
	return r.arrival(ctx, tx, by)
}

// receipt is a delivery on its way to the shelf.
type receipt struct {
	o       Order
	counted []Counted
	lines   map[int64]Line // by id, as they were before
	extra   map[int64]Line // by item, of what was not ordered
	items   map[int64]stock.Item
	arrived []Arrived
	short   map[int64]Left // by line
}

func (r *receipt) read(ctx context.Context, q db.Querier) error {
	lines, err := Lines(ctx, q, r.o.ID)
	if err != nil {
		return err
	}
	for _, l := range lines {
		r.lines[l.ID] = l
	}
	for _, c := range r.counted {
		if r.items[c.Item], err = stock.Get(ctx, q, c.Item); err != nil {
			return err
		}
		if c.Line != 0 && r.lines[c.Line].ItemID != c.Item {
			return errGone
		}
		if c.Line == 0 {
			if r.extra[c.Item], err = Extra(ctx, q, r.o, r.items[c.Item]); err != nil {
				return err
			}
		}
	}
	return nil
}

// price is what a pack of it cost, by the invoice or else as ordered.
func (r *receipt) price(c Counted) *int64 {
	if c.PriceMinor != nil {
		return c.PriceMinor
	}
	if c.Line == 0 {
		return r.extra[c.Item].PriceMinor
	}
	return r.lines[c.Line].PriceMinor
}

// check asks for what the ledger needs, and for something at all.
func (r *receipt) check() error {
	wrong := map[string]string{}
	something, said := false, map[int64]bool{}
	for i, c := range r.counted {
		something = something || c.Qty > 0 || c.Short != ""
		if c.Short != "" && said[c.Line] {
			wrong[fmt.Sprint(i, ".short")] = "It is said above already."
		}
		said[c.Line] = said[c.Line] || c.Short != ""
		if c.Qty == 0 {
			continue
		}
		if r.items[c.Item].Batched && strings.TrimSpace(c.Batch) == "" {
			wrong[fmt.Sprint(i, ".batch")] = "Type the batch that stands on it."
		}
		if r.price(c) == nil {
			wrong[fmt.Sprint(i, ".price")] = "Type what a pack cost by the invoice, 0 if nothing."
		}
	}
	if !something {
		wrong["scan"] = "Nothing is counted yet: scan what came, or type the amounts."
	}
	if len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	return nil
}

// addLines gives what was not ordered a line of its own, of nothing ordered.
func (r *receipt) addLines(ctx context.Context, tx pgx.Tx, _ history.By) error {
	for i, c := range r.counted {
		if c.Line != 0 || c.Qty == 0 {
			continue
		}
		l := r.extra[c.Item]
		if l.PriceMinor == nil {
			l.PriceMinor = c.PriceMinor
		}
		err := tx.QueryRow(ctx, `insert into purchase_line (purchase_id, item_id, qty, pack, price_minor) values ($1, $2, 0, $3, $4)
			on conflict on constraint purchase_line_once do update set pack = purchase_line.pack returning id, pack`, r.o.ID, c.Item, l.Pack, l.PriceMinor).Scan(&l.ID, &l.Pack)
		if err != nil {
			return fmt.Errorf("receive what was not ordered: %w", db.Translate(err))
		}
		if _, known := r.lines[l.ID]; !known {
			r.lines[l.ID] = l
		}
		r.counted[i].Line = l.ID
	}
	return nil
}

func (r *receipt) post(ctx context.Context, tx pgx.Tx, by history.By) error {
	var items []int64
	for _, c := range r.counted {
		if c.Qty > 0 {
			items = append(items, c.Item)
		}
	}
	shelf, err := stock.Lock(ctx, tx, items...)
	if err != nil {
		return err
	}
	for i, c := range r.counted {
		if c.Qty == 0 {
			continue
		}
		l := r.lines[c.Line]
		p := stock.Posting{Item: c.Item, Kind: stock.Receive, Qty: c.Qty, Cost: money.Part(*r.price(c), c.Qty, l.Pack), Line: c.Line}
		if batch := strings.TrimSpace(c.Batch); batch != "" {
			if c.BestBefore == nil {
				c.BestBefore = r.items[c.Item].KeepsTill(by.At, time.UTC)
			}
			if p.Batch, err = stock.TakeBatch(ctx, tx, by, c.Item, batch, c.BestBefore); err != nil {
				return err
			}
		}
		m, err := shelf.Post(ctx, tx, by, p)
		var invalid *fault.Invalid
		if errors.As(err, &invalid) {
			return fault.Field(fmt.Sprint(i, ".qty"), "That amount at that price cannot be: look at both.")
		}
		if err != nil {
			return err
		}
		r.arrived = append(r.arrived, Arrived{Line: c.Line, Item: c.Item, Job: l.JobID, Qty: c.Qty, Move: m.ID})
	}
	return nil
}

// fallShort keeps what is wrong with a line; what is cancelled of it is all that is
// left after this delivery.
func (r *receipt) fallShort(ctx context.Context, tx pgx.Tx, by history.By) error {
	came := map[int64]int64{}
	for _, c := range r.counted {
		came[c.Line] += c.Qty
	}
	r.short = map[int64]Left{}
	for _, c := range r.counted {
		if c.Short == "" {
			continue
		}
		left := Left{Short: c.Short, Words: c.Words, ExpectedOn: c.ExpectedOn}
		if c.Cancel {
			left.Cancelled = max(0, r.lines[c.Line].Open()-came[c.Line])
		}
		_, err := tx.Exec(ctx, `insert into purchase_short (line_id, kind, words, cancelled, expected_on, actor_id, intent_id, at)
			values ($1, $2, $3, $4, $5, nullif($6, 0::bigint), $7, $8)`, c.Line, c.Short, strings.TrimSpace(c.Words), left.Cancelled, c.ExpectedOn, by.Staff, by.Intent, by.At)
		if err != nil {
			return fmt.Errorf("keep what came short: %w", db.Translate(err))
		}
		r.short[c.Line] = left
	}
	return nil
}

// keepPrices makes invoiced prices the supplier's where that was ticked.
func (r *receipt) keepPrices(ctx context.Context, tx pgx.Tx, by history.By) error {
	for _, c := range r.counted {
		price := r.price(c)
		if !c.KeepPrice || c.Qty == 0 || price == nil {
			continue
		}
		list, err := stock.Sources(ctx, tx, c.Item)
		if err != nil {
			return err
		}
		pack := r.lines[c.Line].Pack
		from := stock.Source{ItemID: c.Item, SupplierID: r.o.SupplierID, Pack: pack}
		for _, s := range list {
			if s.SupplierID == r.o.SupplierID {
				from = s
			}
		}
		minor := money.Part(*price, from.Pack, pack)
		from.PriceMinor = &minor
		if err := stock.PutSource(ctx, tx, by, from); err != nil {
			return err
		}
	}
	return nil
}

// arrival brings the order to where it stands now.
func (r *receipt) arrival(ctx context.Context, tx pgx.Tx, by history.By) (Arrival, error) {
	state, lines, err := settle(ctx, tx, by, r.o, true)
	if err != nil {
		return Arrival{}, err
	}
	a := Arrival{Order: r.o.ID, State: state, Items: r.arrived}
	for _, l := range lines {
		left, said := r.short[l.ID]
		if l.Open() == 0 && !said {
			continue
		}
		left.Line, left.Item, left.Job = l.ID, l.ItemID, l.JobID
		if state != Closed {
			left.Qty = l.Open()
		}
		if left.ExpectedOn == nil && left.Qty > 0 {
			left.ExpectedOn = r.o.ExpectedOn
			if l.ExpectedOn != nil {
				left.ExpectedOn = l.ExpectedOn
			}
		}
		a.Left = append(a.Left, left)
	}
	return a, nil
}

// settle brings an order to the state that its lines say. With a delivery the state
// is kept again even where it is the same.
func settle(ctx context.Context, tx pgx.Tx, by history.By, o Order, delivered bool) (State, []Line, error) {
	lines, err := Lines(ctx, tx, o.ID)
	if err != nil {
		return "", nil, err
	}
	to, reason := standing(lines), ""
	if to == Closed {
		reason = "Nothing of it is awaited any more, and nothing came."
	}
	if to == o.State && !delivered {
		return to, lines, nil
	}
	if to == o.State {
		if _, err := tx.Exec(ctx, "update purchase set version = version + 1 where id = $1", o.ID); err != nil {
			return "", nil, fmt.Errorf("settle order %d: %w", o.ID, err)
		}
	}
	return to, lines, come(ctx, tx, by, o.ID, to, reason)
}

// standing is where a sent order stands by what came of its lines.
func standing(lines []Line) State {
	var came, awaited bool
	for _, l := range lines {
		came, awaited = came || l.Received > 0, awaited || l.Open() > 0
	}
	switch {
	case awaited && came:
		return PartReceived
	case awaited:
		return Sent
	case came:
		return Received
	}
	return Closed
}

// TakeBack answers a wrong move of the ledger with its opposite, as stock.TakeBack,
// and brings the order it came in on to where it stands without it. One that was
// closed by hand stays closed.
func TakeBack(ctx context.Context, tx pgx.Tx, by history.By, moveID int64, reason string) (stock.Move, error) {
	var order int64
	err := tx.QueryRow(ctx, `select l.purchase_id from move m join purchase_line l on l.id = m.purchase_line_id where m.id = $1`, moveID).Scan(&order)
	if errors.Is(err, pgx.ErrNoRows) {
		return stock.TakeBack(ctx, tx, by, moveID, reason)
	}
	if err != nil {
		return stock.Move{}, fmt.Errorf("take back a move: %w", err)
	}
	o, err := hold(ctx, tx, order, 0)
	if err != nil {
		return stock.Move{}, err
	}
	m, err := stock.TakeBack(ctx, tx, by, moveID, reason)
	if err != nil || o.State == Closed {
		return m, err
	}
	_, _, err = settle(ctx, tx, by, o, false)
	return m, err
}
