package stock

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Shelf is items whose balances a transaction holds, so that of two who want the
// last one gets it and the other is told.
type Shelf struct {
	below bool // the shop lets the ledger go below zero
	rows  map[int64]*Held
}

// Held is one item of a shelf.
type Held struct {
	Item    int64
	Name    string
	Code    string
	Measure Measure
	Batched bool
	Aside   int64 // of Qty
	Balance
}

// Free is what is neither gone nor set aside.
func (h Held) Free() int64 { return h.Qty - h.Aside }

// Posting is a move as it is asked for. Of the two, Qty is always above zero.
type Posting struct {
	Item      int64
	Kind      Kind
	Qty       int64
	Less      bool   // of a count: there is less than the ledger says
	CountLine int64  // of a count: whose difference it is; 0: none's
	Cost      int64  // of what is received
	Batch     int64  // 0: none, or for what goes out of an item kept by batch the oldest that is left
	Job       int64  // 0: of no job
	Step      int64  // 0: of no step
	Line      int64  // of what is received: the line of an order; 0: of none
	Aside     int64  // how much of it was set aside and now is no more
	Reason    string // needed for what is sent back, written off or wasted
	reversed  *Move
}

// Lock takes the balances of items for the running transaction, in the order of
// their ids. An item that is not there is a NotFound.
func Lock(ctx context.Context, tx pgx.Tx, items ...int64) (*Shelf, error) {
	items = slices.Compact(slices.Sorted(slices.Values(items)))
	s := &Shelf{rows: map[int64]*Held{}}
	_, err := tx.Exec(ctx, `insert into balance (item_id) select i from unnest($1::bigint[]) i where exists (select from item where id = i)
		order by i on conflict do nothing`, items)
	if err != nil {
		return nil, fmt.Errorf("lock items: %w", err)
	}
	rows, err := tx.Query(ctx, `select i.id as item, i.name, i.code, i.measure, i.batched, b.aside, b.qty, b.value_minor as value,
			b.seq, b.paid_minor, b.paid_qty
		from balance b join item i on i.id = b.item_id where b.item_id = any ($1) order by b.item_id for update of b`, items)
	list, err := db.All[Held](rows, err)
	if err != nil {
		return nil, fmt.Errorf("lock items: %w", err)
	}
	if len(list) != len(items) {
		return nil, db.NotThere("item")
	}
	for i := range list {
		s.rows[list[i].Item] = &list[i]
	}
	if err := tx.QueryRow(ctx, "select coalesce(bool_or(stock_below_zero), false) from shop").Scan(&s.below); err != nil {
		return nil, fmt.Errorf("lock items: %w", err)
	}
	return s, nil
}

// Of is an item of the shelf as it is now.
func (s *Shelf) Of(item int64) Held { return *s.rows[item] }

// SetAside changes how much of an item is set aside by more, which may be below
// zero. It takes no more than is free: what is kept with the job is its caller's.
func (s *Shelf) SetAside(ctx context.Context, tx pgx.Tx, item, more int64) error {
	h := s.rows[item]
	if more > 0 && more > h.Free() {
		return fault.Conflict(h.none(more, h.Free(), h.Aside))
	}
	if _, err := tx.Exec(ctx, "update balance set aside = aside + $2 where item_id = $1", item, more); err != nil {
		return fmt.Errorf("set aside: %w", err)
	}
	h.Aside += more
	return nil
}

// Post writes one move and the balance after it. What goes out is there and not
// set aside for somebody else, unless the shop lets its ledger go below zero: then
// the item is one to count. Broken, sent back and counted things go whoever they
// were meant for.
func (s *Shelf) Post(ctx context.Context, tx pgx.Tx, by history.By, p Posting) (Move, error) {
	h := s.rows[p.Item]
	if err := s.refuse(h, p); err != nil {
		return Move{}, err
	}
	if p.Batch == 0 && h.Batched && p.out() && p.reversed == nil {
		var err error
		if p.Batch, err = oldestBatch(ctx, tx, p.Item); err != nil {
			return Move{}, err
		}
	}
	m := Move{ItemID: p.Item, Kind: p.Kind, Qty: p.Qty, CostMinor: p.Cost, BatchID: p.Batch, JobID: p.Job, StepID: p.Step, Line: p.Line, CountLineID: p.CountLine,
		Reason: strings.TrimSpace(p.Reason), At: by.At}
	if p.out() {
		m.Qty = -m.Qty
	}
	if p.reversed != nil {
		m.Reverses = p.reversed.ID
	}
	h.Balance, m = h.after(m, p.reversed)
	return h.keep(ctx, tx, by, m, p.Aside)
}

func (p Posting) out() bool {
	if p.reversed != nil {
		return p.reversed.Qty > 0
	}
	return p.Less || p.Kind != Receive && p.Kind != Return && p.Kind != Count
}

// MayUse is how much of an amount can be used of an item, where so much lies aside
// for it.
func (s *Shelf) MayUse(item, amount, aside int64) int64 {
	h := s.rows[item]
	if s.below {
		return amount
	}
	return max(min(amount, h.Qty-(h.Aside-aside)), 0)
}

func (s *Shelf) refuse(h *Held, p Posting) error {
	reasoned := p.reversed != nil || slices.Contains([]Kind{SendBack, WriteOff, Waste}, p.Kind)
	switch {
	case p.Qty <= 0 || p.Qty > mostAmount:
		return errNothing
	case p.Cost < 0 || p.Cost > mostMinor:
		return fault.Field("cost", "That is not what it can have cost.")
	case reasoned && strings.TrimSpace(p.Reason) == "":
		return errReason
	case utf8.RuneCountInString(p.Reason) > MostReason:
		return fault.Field("reason", fmt.Sprintf("Write at most %d characters.", MostReason))
	case p.Kind == Receive && p.reversed == nil && h.Batched && p.Batch == 0:
		return fault.Field("batch", h.Name+" is kept by batch: type the batch that stands on it.")
	case !p.out() || p.Kind == Count && p.reversed == nil || s.below:
		return nil
	}
	free := h.Qty
	if p.Kind == Use {
		free = s.MayUse(p.Item, mostAmount, p.Aside)
	}
	if p.Qty > free {
		return fault.Conflict(h.none(p.Qty, free, h.Qty-free))
	}
	return nil
}

// none says that so much is not to be had.
func (h Held) none(want, free, aside int64) string {
	said := fmt.Sprintf("%s (%s): %s wanted, and %s free", h.Name, h.Code, h.Measure.Format(want), h.Measure.Format(max(free, 0)))
	if free <= 0 {
		said = fmt.Sprintf("%s (%s): %s wanted, and none is free", h.Name, h.Code, h.Measure.Format(want))
	}
	if aside > 0 {
		said += "; " + h.Measure.Format(aside) + " set aside for other jobs"
	}
	return said + "."
}

// keep writes the move and the balance it led to.
func (h *Held) keep(ctx context.Context, tx pgx.Tx, by history.By, m Move, aside int64) (Move, error) {
	h.Aside -= aside
	var batch pgx.Batch
	batch.Queue(`insert into move (item_id, seq, kind, qty, cost_minor, value_minor, qty_after, value_after, batch_id, job_id, step_id,
			reverses, purchase_line_id, reason, actor_id, intent_id, at, count_line_id)
		values ($1, $2, $3, $4, $5, $6, $7, $8, nullif($9, 0::bigint), nullif($10, 0::bigint), nullif($11, 0::bigint),
			nullif($12, 0::bigint), nullif($13, 0::bigint), $14, nullif($15, 0::bigint), $16, $17, nullif($18, 0::bigint)) returning id`,
		m.ItemID, m.Seq, m.Kind, m.Qty, m.CostMinor, m.ValueMinor, m.QtyAfter, m.ValueAfter, m.BatchID, m.JobID, m.StepID,
		m.Reverses, m.Line, m.Reason, by.Staff, by.Intent, by.At, m.CountLineID).QueryRow(func(row pgx.Row) error { return row.Scan(&m.ID) })
	batch.Queue(`update balance set qty = $2, value_minor = $3, seq = $4, paid_minor = $5, paid_qty = $6, aside = $7 where item_id = $1`,
		m.ItemID, h.Qty, h.Value, h.Seq, h.PaidMinor, h.PaidQty, h.Aside)
	history.Queue(&batch, by, history.Event{SubjectKind: "item", SubjectID: m.ItemID, Job: m.JobID, Kind: "stock moved",
		Detail: map[string]any{"kind": m.Kind, "qty": m.Qty}})
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return m, fmt.Errorf("post to the ledger: %w", db.Translate(err))
	}
	return m, nil
}

// Post is Lock and Post for one item.
func Post(ctx context.Context, tx pgx.Tx, by history.By, p Posting) (Move, error) {
	s, err := Lock(ctx, tx, p.Item)
	if err != nil {
		return Move{}, err
	}
	return s.Post(ctx, tx, by, p)
}

// TakeBack answers a wrong move with its opposite and says why.
func TakeBack(ctx context.Context, tx pgx.Tx, by history.By, moveID int64, reason string) (Move, error) {
	item, err := itemOf(ctx, tx, moveID)
	if err != nil {
		return Move{}, err
	}
	s, err := Lock(ctx, tx, item)
	if err != nil {
		return Move{}, err
	}
	return s.TakeBack(ctx, tx, by, moveID, reason)
}

func itemOf(ctx context.Context, q db.Querier, moveID int64) (item int64, err error) {
	rows, err := q.Query(ctx, "select item_id from move where id = $1", moveID)
	m, err := db.One[struct{ ItemID int64 }](rows, err, "move")
	return m.ItemID, err
}

// TakeBack answers a move of an item that the shelf holds.
func (s *Shelf) TakeBack(ctx context.Context, tx pgx.Tx, by history.By, moveID int64, reason string) (Move, error) {
	m, err := GetEntry(ctx, tx, moveID)
	if err != nil {
		return Move{}, err
	}
	switch {
	case m.Reverses != 0:
		return Move{}, fault.Conflict("That is the taking back of another move; it stands.")
	case m.reversed():
		return Move{}, fault.Conflict("That is taken back already.")
	case m.Kind == Count && !by.Has("owner"):
		return Move{}, fault.Forbidden("An owner approves what was counted, and takes it back.")
	}
	p := Posting{Item: m.ItemID, Kind: m.Kind, Qty: max(m.Qty, -m.Qty), Batch: m.BatchID, Job: m.JobID, Step: m.StepID, Line: m.Line, Reason: reason, reversed: &m.Move}
	if m.Kind == Use {
		p.Kind = Return
	}
	if m.Kind == Receive {
		h := s.rows[m.ItemID]
		err := tx.QueryRow(ctx, `select coalesce(max(cost_minor), 0), coalesce(max(qty), 0) from (
			select cost_minor, qty from move r where item_id = $1 and kind = 'receive' and reverses is null and id <> $2
				and not exists (select from move b where b.reverses = r.id) order by seq desc limit 1) l`, m.ItemID, m.ID).Scan(&h.PaidMinor, &h.PaidQty)
		if err != nil {
			return Move{}, fmt.Errorf("take back a delivery: %w", err)
		}
	}
	return s.Post(ctx, tx, by, p)
}
