package stock

import (
	"slices"

	"damperdesk/internal/money"
)

// Balance is what the moves of an item come to. Its value is that of the moving
// average cost: at zero pieces it is zero, and below zero it is what those that
// went out too many cost at the last price paid.
type Balance struct {
	Qty       int64
	Value     int64 // minor units
	Seq       int   // of the last move
	PaidMinor int64 // the last price paid, for
	PaidQty   int64 // this amount; 0: never bought
}

// Cost is what an amount costs out of what lies there: its share of the value, or
// at the last price paid where nothing lies there.
func (b Balance) Cost(amount int64) int64 {
	if b.Qty > 0 {
		return money.Part(b.Value, amount, b.Qty)
	}
	return b.lastPaid(amount)
}

func (b Balance) lastPaid(amount int64) int64 {
	if b.PaidQty == 0 {
		return 0
	}
	return money.Part(b.PaidMinor, amount, b.PaidQty)
}

// In is what the value changes by when an amount comes in for cost. What had gone
// out below zero is made good first, and for that no more and no less than it was
// taken out at; the rest keeps its share of the cost.
func (b Balance) In(amount, cost int64) int64 {
	switch {
	case b.Qty >= 0:
		return cost
	case amount < -b.Qty:
		return -money.Part(b.Value, amount, -b.Qty)
	}
	return -b.Value + money.Part(cost, amount+b.Qty, amount)
}

// Out is what the value changes by when an amount goes out, at most zero: its share
// of the value, rounded half up, where the last takes what is left; what is taken
// below zero costs what was paid last.
func (b Balance) Out(amount int64) int64 {
	if b.Qty >= amount {
		return -money.Part(b.Value, amount, b.Qty)
	}
	there := max(b.Qty, 0)
	taken := int64(0)
	if there > 0 {
		taken = b.Value
	}
	return -taken - b.lastPaid(amount-there)
}

// OutAgain is what the value changes by when what came in for a value goes out
// again: that value as far as it is there, and all of it with the last piece.
func (b Balance) OutAgain(amount, value int64) int64 {
	if b.Qty <= amount {
		return b.Out(amount)
	}
	return -min(value, b.Value)
}

// after is the balance and the move as it is kept, once a move is posted. Of the
// move the kind, quantity, Reverses and what came in cost are given.
func (b Balance) after(m Move, undone *Move) (Balance, Move) {
	switch {
	case m.Qty > 0 && undone != nil: // comes back at what it went out for
		m.CostMinor = -undone.ValueMinor
		m.ValueMinor = b.In(m.Qty, m.CostMinor)
	case m.Qty > 0 && m.Kind == Receive:
		m.ValueMinor = b.In(m.Qty, m.CostMinor)
	case m.Qty > 0:
		m.CostMinor = b.Cost(m.Qty)
		m.ValueMinor = b.In(m.Qty, m.CostMinor)
	case undone != nil:
		m.CostMinor = -undone.CostMinor
		m.ValueMinor = b.OutAgain(-m.Qty, undone.ValueMinor)
	default:
		m.ValueMinor = b.Out(-m.Qty)
		m.CostMinor = m.ValueMinor
	}
	if m.Kind == Receive && undone == nil {
		b.PaidMinor, b.PaidQty = m.CostMinor, m.Qty
	}
	b.Qty, b.Value, b.Seq = b.Qty+m.Qty, b.Value+m.ValueMinor, b.Seq+1
	m.Seq, m.QtyAfter, m.ValueAfter = b.Seq, b.Qty, b.Value
	return b, m
}

// Rebuild replays all moves of one item, in the order of their Seq, from what was
// given with each: it is how the balance and every cost come about again.
func Rebuild(moves []Move) (Balance, []Move) {
	var b Balance
	made := make([]Move, 0, len(moves))
	for i, m := range moves {
		var undone *Move
		if m.Reverses != 0 {
			at := slices.IndexFunc(made, func(u Move) bool { return u.ID == m.Reverses })
			undone = &made[at]
		}
		b, m = b.after(m, undone)
		made = append(made, m)
		if undone != nil && undone.Kind == Receive {
			b.PaidMinor, b.PaidQty = lastPaid(moves[:i+1])
		}
	}
	return b, made
}

// lastPaid is the newest price paid of those that were not taken back.
func lastPaid(moves []Move) (minor, qty int64) {
	for i := len(moves) - 1; i >= 0; i-- {
		m := moves[i]
		back := slices.ContainsFunc(moves, func(r Move) bool { return r.Reverses == m.ID })
		if m.Kind == Receive && m.Reverses == 0 && !back {
			return m.CostMinor, m.Qty
		}
	}
	return 0, 0
}
