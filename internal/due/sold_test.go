package due_test

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"damperdesk/internal/customer"
	"damperdesk/internal/due"
	"damperdesk/internal/erase"
	"damperdesk/internal/export"
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

func TestWhatIsPutOffEndsWithASale(t *testing.T) {
	b := newBench(t, "north")
	fork, seller := b.unit("fork", "Tindra Lode"), b.customer
	b.must(due.Put(ctx, b.tx, b.on("2026-02-01"), due.PutOff{UnitID: fork, Kind: due.Elsewhere, Reason: "no money now"}, interval.Day(day("2026-02-01"), time.UTC)))
	b.say(fork, "2026-02-01", interval.Said{Hours: number(10)})
	buyer := b.sell(fork, "2026-03-01")
	if got := b.standing(fork); len(got) > 0 {
		t.Errorf("after the sale there stands %q", got)
	}
	b.say(fork, "2026-03-02", interval.Said{Hours: number(3)})
	if got := b.told(seller) + "; " + b.told(buyer); got != "1 put off, hours [10]; 0 put off, hours [3]" {
		t.Errorf("seller and buyer are given %s", got)
	}
}

// told is what the file of a customer has of put-offs and hours.
func (b bench) told(id int64) string {
	b.t.Helper()
	f, err := export.Of(ctx, b.tx, id, day("2026-04-01"))
	b.must(err)
	var file bytes.Buffer
	b.must(f.Write(&file, nil))
	z, err := zip.NewReader(bytes.NewReader(file.Bytes()), int64(file.Len()))
	b.must(err)
	in, err := z.Open("data.json")
	b.must(err)
	var data struct {
		Data struct {
			PutOff    []any                     `json:"put_off"`
			RideHours []struct{ Hours float64 } `json:"ride_hours"`
		}
	}
	b.must(json.NewDecoder(in).Decode(&data))
	var hours []float64
	for _, r := range data.Data.RideHours {
		hours = append(hours, r.Hours)
	}
	return fmt.Sprintf("%d put off, hours %v", len(data.Data.PutOff), hours)
}

func TestNobodyIsRungWhoWasErased(t *testing.T) {
	b := newBench(t, "north")
	fork := b.unit("fork", "Tindra Lode")
	b.serve(fork, "2025-01-10", "lower-leg")
	b.expect("2026-04-01", fork, "lower-leg overdue 2025-01-10")
	by := b.on("2026-04-02")
	b.must(erase.Customer(ctx, b.tx, by, b.customer))
	b.must(due.Settle(ctx, b.tx, by.At))
	if rows := b.table(); len(rows) > 0 {
		t.Errorf("of a customer who was erased there stand %q", rows)
	}
}
