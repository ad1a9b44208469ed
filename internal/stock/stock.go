// Package stock keeps what the shop has: its items and who sells them, and the
// ledger of every amount that came in or went out.
//
// Amounts are whole numbers of the smallest unit of an item's measure. A move is
// never changed: a wrong one stays and is answered by its opposite. The order of
// the ledger is that of posting (Move.Seq), nothing is dated back, and each move
// keeps what the item came to after it. The row of the balance is written with each
// move, under its lock, and is always what Rebuild makes of the moves.
package stock

import (
	"time"

	"damperdesk/internal/fault"
)

// Kind is why an amount moves.
type Kind string

// The kinds of move.
const (
	Receive  Kind = "receive"   // from a supplier, or opening stock
	Use      Kind = "use"       // on a job, or in the workshop
	Return   Kind = "return"    // what was taken comes back to the shelf
	SendBack Kind = "send back" // to the supplier
	Count    Kind = "count"     // there was more or less than the ledger said
	WriteOff Kind = "write-off" // too old, broken
	Waste    Kind = "waste"     // spilled, spoiled in the work
)

// Move is one row of the ledger.
type Move struct {
	ID         int64
	ItemID     int64
	Seq        int
	Kind       Kind
	Qty        int64 // above zero: in; below: out
	CostMinor  int64 // with the sign of Qty
	ValueMinor int64 // what the value of the shelf changed by
	QtyAfter   int64
	ValueAfter int64
	BatchID    int64 // 0: none
	JobID      int64 // 0: of no job
	StepID     int64 // the step of the bench sheet it was signed at; 0: none
	Line       int64 // the line of an order that it came in for; 0: none
	Reverses   int64 // the move that this is the opposite of; 0: none
	// CountLineID is the line of a count whose difference it is; 0: none.
	CountLineID int64
	Reason      string
	At          time.Time
}

// Difference is what an amount cost beyond what the shelf gained or lost by it:
// more had gone out than there was, before its price was known.
func (m Move) Difference() int64 { return m.CostMinor - m.ValueMinor }

var (
	errNothing = fault.Field("qty", "Give an amount above zero.")
	errReason  = fault.Field("reason", "Say why in a few words.")
)
