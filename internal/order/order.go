// Package order buys what the shop keeps: drafts by supplier, what was sent, and
// what came of it.
//
// What a line received is the sum of the moves of the ledger that name it, and is
// kept nowhere else. The version of an order covers its lines and the delivery that
// is being unpacked, so that of two people who receive it one is told to look again.
package order

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/money"
	"damperdesk/internal/stock"
)

// State is where an order stands.
type State string

// The states, in their order.
const (
	Draft        State = "draft"
	Sent         State = "sent"
	PartReceived State = "part received"
	Received     State = "received"
	Closed       State = "closed" // by hand, with a reason: nothing more is awaited
)

// Order is one order at a supplier.
type Order struct {
	ID         int64
	Number     int
	SupplierID int64
	Supplier   string
	State      State
	SentAt     *time.Time
	ExpectedOn *time.Time // at midnight UTC
	Note       string
	MadeBy     string
	MadeAt     time.Time
	Version    int
	Count      int   // of its lines
	SumMinor   int64 // of the lines whose price is known
	Unpriced   int   // lines whose price is not
}

// Awaited reports whether something is still to come.
func (o Order) Awaited() bool { return o.State == Sent || o.State == PartReceived }

// Late reports whether it was expected before today, a day at midnight UTC.
func (o Order) Late(today time.Time) bool {
	return o.Awaited() && o.ExpectedOn != nil && o.ExpectedOn.Before(today)
}

// Line is an amount of an item on an order.
type Line struct {
	ID           int64
	PurchaseID   int64
	ItemID       int64
	Code         string
	Name         string
	Measure      stock.Measure
	Batched      bool
	ShelfDays    *int
	Place        string
	Barcode      string
	TheirCode    string // the supplier's, as it is now
	TheirBarcode string
	JobID        int64 // it is for; 0: the shelf
	JobNumber    int
	Qty          int64 // 0: it came without being ordered
	Pack         int64
	PriceMinor   *int64 // of a pack before tax, as ordered; nil: not known
	Received     int64  // by the moves that stand
	Cancelled    int64
	ExpectedOn   *time.Time // as said when it came short; nil: with the order
}

// Open is what is still to come of it while its order is not closed.
func (l Line) Open() int64 { return max(0, l.Qty-l.Received-l.Cancelled) }

// Packs is how many packs were ordered.
func (l Line) Packs() int64 { return (l.Qty + l.Pack - 1) / l.Pack }

// SumMinor is what it costs as ordered; ok is false where the price is not known.
func (l Line) SumMinor() (minor int64, ok bool) {
	if l.PriceMinor == nil {
		return 0, false
	}
	return money.Part(*l.PriceMinor, l.Qty, l.Pack), true
}

const selectOrder = `select p.id, p.number, p.supplier_id, s.name as supplier, p.state, p.sent_at, p.expected_on, p.note, coalesce(m.name, '') as made_by,
		p.made_at, p.version, coalesce(l.n, 0) as count, coalesce(l.sum, 0)::bigint as sum_minor, coalesce(l.unpriced, 0) as unpriced
	from purchase p join supplier s on s.id = p.supplier_id left join staff m on m.id = p.made_by
	left join lateral (select count(*) as n, sum(round(price_minor::numeric * qty / pack)) as sum, count(*) filter (where price_minor is null) as unpriced
		from purchase_line where purchase_id = p.id) l on true`

// Get reads one order.
func Get(ctx context.Context, q db.Querier, id int64) (Order, error) {
	rows, err := q.Query(ctx, selectOrder+" where p.id = $1", id)
	o, err := db.One[Order](rows, err, "order")
	if err != nil {
		return Order{}, fmt.Errorf("get order %d: %w", id, err)
	}
	return o, nil
}

// Open lists the orders that something is to be done about, the newest first:
// drafts, then what is awaited.
func Open(ctx context.Context, q db.Querier) ([]Order, error) {
	rows, err := q.Query(ctx, selectOrder+` where p.state in ('draft', 'sent', 'part received')
		order by p.state <> 'draft', p.expected_on, p.number desc`)
	list, err := db.All[Order](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list open orders: %w", err)
	}
	return list, nil
}

// PageSize is how many orders a page of those that are over has.
const PageSize = 50

// Over lists orders that are received or closed, from the newest number on that is
// smaller than before (0: from the last), and whether there are older ones.
func Over(ctx context.Context, q db.Querier, before int) (list []Order, more bool, err error) {
	rows, err := q.Query(ctx, selectOrder+` where p.state in ('received', 'closed') and ($1 = 0 or p.number < $1)
		order by p.number desc limit $2`, before, PageSize+1)
	list, err = db.All[Order](rows, err)
	if err != nil {
		return nil, false, fmt.Errorf("list orders that are over: %w", err)
	}
	if len(list) > PageSize {
		return list[:PageSize], true, nil
	}
	return list, false, nil
}

// Lines lists those of an order, what was ordered first.
func Lines(ctx context.Context, q db.Querier, order int64) ([]Line, error) {
	rows, err := q.Query(ctx, `select l.id, l.purchase_id, l.item_id, i.code, i.name, i.measure, i.batched, i.shelf_days, i.place, i.barcode,
			coalesce(t.code, '') as their_code, coalesce(t.barcode, '') as their_barcode, coalesce(l.job_id, 0) as job_id,
			coalesce(j.number, 0) as job_number, l.qty, l.pack, l.price_minor,
			coalesce((select sum(m.qty) from move m where m.purchase_line_id = l.id), 0)::bigint as received,
			coalesce((select sum(c.cancelled) from purchase_short c where c.line_id = l.id), 0)::bigint as cancelled,
			(select c.expected_on from purchase_short c where c.line_id = l.id order by c.id desc limit 1) as expected_on
		from purchase_line l join purchase p on p.id = l.purchase_id join item i on i.id = l.item_id left join job j on j.id = l.job_id
		left join item_supplier t on t.item_id = l.item_id and t.supplier_id = p.supplier_id
		where l.purchase_id = $1 order by l.qty = 0, l.id`, order)
	list, err := db.All[Line](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read the lines of order %d: %w", order, err)
	}
	return list, nil
}

// Change is that an order came to a state.
type Change struct {
	State  State
	Reason string
	By     string
	At     time.Time
}

// Changes lists those of an order in their order.
func Changes(ctx context.Context, q db.Querier, order int64) ([]Change, error) {
	rows, err := q.Query(ctx, `select c.state, c.reason, coalesce(s.name, '') as by, c.at
		from purchase_state c left join staff s on s.id = c.actor_id where c.purchase_id = $1 order by c.id`, order)
	list, err := db.All[Change](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what became of order %d: %w", order, err)
	}
	return list, nil
}

var errGone = fault.Conflict("Somebody else changed this order since you opened it; look again.")

// hold takes an order for the running transaction as it was seen; version 0 asks
// for none.
func hold(ctx context.Context, tx pgx.Tx, id int64, version int) (Order, error) {
	var now int
	err := tx.QueryRow(ctx, "select version from purchase where id = $1 for update", id).Scan(&now)
	if err == pgx.ErrNoRows {
		return Order{}, db.NotThere("order")
	}
	if err != nil {
		return Order{}, fmt.Errorf("hold order %d: %w", id, err)
	}
	if version != 0 && version != now {
		return Order{}, errGone
	}
	return Get(ctx, tx, id)
}

// come keeps that an order came to a state.
func come(ctx context.Context, tx pgx.Tx, by history.By, id int64, to State, reason string) error {
	var batch pgx.Batch
	batch.Queue("update purchase set state = $2, version = version + 1 where id = $1 and state <> $2", id, to)
	batch.Queue(`insert into purchase_state (purchase_id, state, reason, actor_id, intent_id, at)
		values ($1, $2, $3, nullif($4, 0::bigint), $5, $6)`, id, to, reason, by.Staff, by.Intent, by.At)
	history.Queue(&batch, by, history.Event{SubjectKind: "order", SubjectID: id, Kind: "order " + string(to)})
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return fmt.Errorf("order %d comes to %s: %w", id, to, db.Translate(err))
	}
	return nil
}

// mayKeep refuses whoever is no member of staff.
func mayKeep(by history.By) error {
	if by.Has("desk") || by.Has("mechanic") || by.Has("owner") {
		return nil
	}
	return fault.Forbidden("Orders are kept by the people of the shop.")
}

// maySend refuses whoever may not bind the shop.
func maySend(by history.By) error {
	if by.Has("desk") || by.Has("owner") {
		return nil
	}
	return fault.Forbidden("The front desk or an owner sends and closes orders.")
}

// Fault is that a line came short, wrong or broken.
type Fault struct {
	LineID     int64
	Kind       string // one of Shorts
	Words      string
	Cancelled  int64
	ExpectedOn *time.Time
	By         string
	At         time.Time
}

// Faults lists those of an order in their order.
func Faults(ctx context.Context, q db.Querier, order int64) ([]Fault, error) {
	rows, err := q.Query(ctx, `select c.line_id, c.kind, c.words, c.cancelled, c.expected_on, coalesce(s.name, '') as by, c.at
		from purchase_short c join purchase_line l on l.id = c.line_id left join staff s on s.id = c.actor_id
		where l.purchase_id = $1 order by c.id`, order)
	list, err := db.All[Fault](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what came short of order %d: %w", order, err)
	}
	return list, nil
}
