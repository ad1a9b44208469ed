package stock

import (
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// post makes moves of what is given of each.
func post(given ...Move) (Balance, []Move) {
	for i := range given {
		given[i].ID = int64(i + 1)
	}
	return Rebuild(given)
}

// The moving average of a year's worked example, in cents: 150 bought at 21 dollars,
// 120 sold, 225 bought at 27, 180 sold, 210 bought at 33. From memory of OpenStax,
// Principles of Accounting 1, 10.3: it prints cost of goods sold of 7,253 and ending
// stock of 8,902 dollars; the cents are recomputed.
func TestMovingAverageOfATextbook(t *testing.T) {
	b, moves := post(Move{Kind: Receive, Qty: 150, CostMinor: 315000}, Move{Kind: Use, Qty: -120},
		Move{Kind: Receive, Qty: 225, CostMinor: 607500}, Move{Kind: Use, Qty: -180},
		Move{Kind: Receive, Qty: 210, CostMinor: 693000})
	if sold := -moves[1].CostMinor - moves[3].CostMinor; sold != 252000+473294 {
		t.Errorf("what was sold cost %d, want 725294", sold)
	}
	if b.Qty != 285 || b.Value != 890206 {
		t.Errorf("%d are left, worth %d; want 285, worth 890206", b.Qty, b.Value)
	}
}

// A third of a penny stays in the value until the last piece takes it: nothing is
// lost by rounding (arithmetic).
func TestTheLastPieceTakesWhatIsLeft(t *testing.T) {
	b, moves := post(Move{Kind: Receive, Qty: 3, CostMinor: 100}, Move{Kind: Use, Qty: -1}, Move{Kind: Use, Qty: -1}, Move{Kind: Use, Qty: -1})
	var cost []int64
	for _, m := range moves[1:] {
		cost = append(cost, -m.CostMinor)
	}
	if cost[0] != 33 || cost[1] != 34 || cost[2] != 33 || b.Value != 0 {
		t.Errorf("they cost %d and leave %d, want 33, 34, 33 and nothing", cost, b.Value)
	}
}

// What went out below zero costs what was paid last; when the next delivery makes
// it good at another price, the difference stands with that delivery.
func TestBelowZeroCostsTheLastPricePaid(t *testing.T) {
	b, moves := post(Move{Kind: Receive, Qty: 2, CostMinor: 1000}, Move{Kind: Use, Qty: -5}, Move{Kind: Receive, Qty: 10, CostMinor: 6000})
	if use := moves[1]; use.CostMinor != -2500 || use.QtyAfter != -3 || use.ValueAfter != -1500 {
		t.Errorf("taken below zero: %+v, want a cost of 2500 with −3 worth −1500", use)
	}
	if in := moves[2]; in.ValueMinor != 1500+4200 || in.Difference() != 300 {
		t.Errorf("made good: the value rose by %d, difference %d; want 5700 and 300", in.ValueMinor, in.Difference())
	}
	if b.Qty != 7 || b.Value != 4200 {
		t.Errorf("%d worth %d, want 7 worth 4200", b.Qty, b.Value)
	}
}

func TestTakingBack(t *testing.T) {
	for name, c := range map[string]struct {
		moves      []Move
		qty, value int64
		paid       int64
	}{
		"a use comes back at what it went out for": {[]Move{
			{Kind: Receive, Qty: 2, CostMinor: 1000}, {Kind: Use, Qty: -1}, {Kind: Receive, Qty: 1, CostMinor: 900}, {Kind: Return, Qty: 1, Reverses: 2},
		}, 3, 1900, 900},
		"a delivery goes out at what it came in for": {[]Move{
			{Kind: Receive, Qty: 2, CostMinor: 1000}, {Kind: Receive, Qty: 2, CostMinor: 9000}, {Kind: Receive, Qty: -2, Reverses: 2},
		}, 2, 1000, 1000},
		"a delivery that was mixed takes no more than is left": {[]Move{
			{Kind: Receive, Qty: 2, CostMinor: 1000}, {Kind: Receive, Qty: 2, CostMinor: 9000}, {Kind: Use, Qty: -1}, {Kind: Receive, Qty: -2, Reverses: 2},
		}, 1, 0, 1000},
		"the whole of it takes all": {[]Move{{Kind: Receive, Qty: 2, CostMinor: 999}, {Kind: Receive, Qty: -2, Reverses: 1}}, 0, 0, 0},
	} {
		b, _ := post(c.moves...)
		if b.Qty != c.qty || b.Value != c.value || b.PaidMinor != c.paid {
			t.Errorf("%s: %d worth %d, last paid %d; want %d worth %d, paid %d", name, b.Qty, b.Value, b.PaidMinor, c.qty, c.value, c.paid)
		}
	}
}

// Against fractions: whatever moves, the value is never more than half a minor unit
// a move off the exact moving average, and nothing there is worth nothing.
func TestValueFollowsTheExactAverage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var b Balance
		exact := new(big.Rat)
		for i := range rapid.IntRange(1, 60).Draw(t, "moves") {
			qty := rapid.Int64Range(1, 5_000_000).Draw(t, "qty")
			m := Move{Kind: Receive, Qty: qty, CostMinor: rapid.Int64Range(0, 1_000_000).Draw(t, "cost")}
			if b.Qty > 0 && rapid.Bool().Draw(t, "out") {
				m = Move{Kind: Use, Qty: -min(qty, b.Qty)}
				exact.Add(exact, new(big.Rat).Mul(exact, big.NewRat(m.Qty, b.Qty)))
			} else {
				exact.Add(exact, new(big.Rat).SetInt64(m.CostMinor))
			}
			b, _ = b.after(m, nil)
			off := new(big.Rat).Sub(exact, new(big.Rat).SetInt64(b.Value))
			if off.Abs(off).Cmp(big.NewRat(int64(i+1), 2)) > 0 {
				t.Fatalf("after %d moves worth %d, exactly %s", i+1, b.Value, exact.FloatString(3))
			}
			if b.Qty == 0 && b.Value != 0 || b.Value < 0 {
				t.Fatalf("%d worth %d", b.Qty, b.Value)
			}
		}
	})
}
