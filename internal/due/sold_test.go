package due_test

import (
	"testing"
	"time"

	"damperdesk/internal/customer"
	"damperdesk/internal/interval"
)

// sell gives a unit to somebody new, at noon of a day.
func (b bench) sell(unit int64, date string) (to int64) {
	b.t.Helper()
	to, err := customer.Add(ctx, b.tx, b.on(date), customer.Details{Name: "Joren Pike"})
	b.must(err)
	b.must(customer.Sell(ctx, b.tx, b.on(date), unit, to, time.UTC))
	return to
}

// factor is what an hour stated of a unit counts for.
func (b bench) factor(unit int64) float64 {
	b.t.Helper()
	told, err := interval.ReadTold(ctx, b.tx, time.UTC, interval.SeasonOf("north"), unit)
	b.must(err)
	used := told.Log(unit).Used()
	return used[len(used)-1].Factor
}

func TestANewOwnerDoesNotRideAsTheOldOne(t *testing.T) {
	b := newBench(t, "north")
	fork := b.unit("fork", "Tindra Lode")
	b.serve(fork, "2026-01-05", "lower-leg")
	_, err := b.tx.Exec(ctx, "update job set ebike = true, rider_kg = 130 where unit_id = $1", fork)
	b.must(err)
	b.say(fork, "2026-02-01", interval.Said{Hours: number(10)})
	if f := b.factor(fork); f <= 1 {
		t.Fatalf("an hour of a heavy rider on an e-bike counts for %v, want more than 1", f)
	}
	b.customer = b.sell(fork, "2026-03-01")
	if f := b.factor(fork); f != 1 {
		t.Errorf("after the sale an hour counts for %v, want 1: nothing is known of the new rider", f)
	}
	b.serve(fork, "2026-04-05", "lower-leg")
	_, err = b.tx.Exec(ctx, "update job set ebike = true where unit_id = $1 and opened_at > '2026-03-01'", fork)
	b.must(err)
	if f := b.factor(fork); f <= 1 {
		t.Errorf("after a job of the new rider's e-bike an hour counts for %v, want more than 1", f)
	}
}

func TestASaleEndsTheHabitOfAUnitThatNeverCame(t *testing.T) {
	b := newBench(t, "north")
	fork := b.unit("fork", "Tindra Lode")
	b.say(fork, "2026-02-01", interval.Said{RidesAWeek: number(2), HoursARide: number(1)})
	b.sell(fork, "2026-03-01")
	told, err := interval.ReadTold(ctx, b.tx, time.UTC, interval.SeasonOf("north"), fork)
	b.must(err)
	if told.Log(fork).Known() {
		t.Error("the habit of who sold it still holds")
	}
}
