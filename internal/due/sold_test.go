package due_test

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"math"
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

// factor is what an hour counts for of what was said of a unit last.
func (b bench) factor(unit int64) float64 {
	b.t.Helper()
	told, err := interval.ReadTold(ctx, b.tx, time.UTC, interval.SeasonOf("north"), unit)
	b.must(err)
	return told.Log(unit).Used()[0].Factor
}

func since(date string) *time.Time {
	d := interval.Day(day(date), time.UTC)
	return &d
}

// ridden is what a unit was ridden between two days, and as how much that counts.
func (b bench) ridden(unit int64, from, to string) interval.Ridden {
	b.t.Helper()
	told, err := interval.ReadTold(ctx, b.tx, time.UTC, interval.SeasonOf("north"), unit)
	b.must(err)
	return told.Log(unit).Ridden(*since(from), *since(to))
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
	b.say(fork, "2026-03-20", interval.Said{Hours: number(4), HoursSince: since("2026-03-01")})
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

// Hours count by who rode them: of an e-bike 1.25, of a rider over 100 kg 1.25,
// of both 1.5625: common practice (no source). The rest is arithmetic.
func TestWhatTheSellerRodeCountsByTheSeller(t *testing.T) {
	heavy := func(t *testing.T) (bench, int64) {
		b := newBench(t, "north")
		fork := b.unit("fork", "Tindra Lode")
		b.serve(fork, "2026-01-05", "lower-leg")
		_, err := b.tx.Exec(ctx, "update job set ebike = true, rider_kg = 130 where unit_id = $1", fork)
		b.must(err)
		return b, fork
	}
	for _, c := range []struct {
		name  string
		say   func(b bench, fork int64, sell func())
		used  float64
		plain float64
	}{
		{"hours that the seller stated", func(b bench, fork int64, sell func()) {
			b.say(fork, "2026-02-01", interval.Said{Hours: number(16), HoursSince: since("2026-01-05")})
			sell()
		}, 25, 16},
		{"the seller's habit up to the sale: two rides of 2 h in eight weeks", func(b bench, fork int64, sell func()) {
			b.say(fork, "2026-01-05", interval.Said{RidesAWeek: number(2), HoursARide: number(2)})
			sell()
		}, 50, 32},
		{"a meter read before and after: 56 of its 84 days are the seller's", func(b bench, fork int64, sell func()) {
			b.say(fork, "2026-01-05", interval.Said{Meter: number(400)})
			sell()
			b.say(fork, "2026-03-30", interval.Said{Meter: number(424)})
		}, 16*1.5625 + 8, 24},
		{"hours of both that the buyer states, likewise", func(b bench, fork int64, sell func()) {
			sell()
			b.say(fork, "2026-03-30", interval.Said{Hours: number(24), HoursSince: since("2026-01-05")})
		}, 16*1.5625 + 8, 24},
		{"what the seller said of the trails is not the buyer's", func(b bench, fork int64, sell func()) {
			b.say(fork, "2026-01-05", interval.Said{RidesAWeek: number(0), Conditions: []string{interval.Wet}})
			sell()
			b.say(fork, "2026-03-30", interval.Said{Hours: number(7), HoursSince: since("2026-03-02")})
		}, 7, 7},
	} {
		t.Run(c.name, func(t *testing.T) {
			b, fork := heavy(t)
			c.say(b, fork, func() { b.sell(fork, "2026-03-02") })
			if got := b.ridden(fork, "2026-01-05", "2026-03-30"); math.Abs(got.Hours-c.used) > 1e-9 || math.Abs(got.Plain-c.plain) > 1e-9 {
				t.Errorf("%v h used of %v h, want %v of %v", got.Hours, got.Plain, c.used, c.plain)
			}
		})
	}
}

// Seven rides of 1 h a week are an hour a day: a day has one owner, one habit and
// one hour.
func TestADayOfAHabitCountsOnceWhoeverSaysIt(t *testing.T) {
	daily := func(from *time.Time) interval.Said {
		return interval.Said{RidesAWeek: number(7), HoursARide: number(1), HabitSince: from}
	}
	for _, c := range []struct {
		name  string
		say   func(b bench, fork int64)
		hours float64
		gap   int
	}{
		{"the seller's begins between two of the buyer's", func(b bench, fork int64) {
			b.say(fork, "2026-02-20", daily(since("2026-02-10")))
			b.sell(fork, "2026-03-02")
			b.say(fork, "2026-03-10", daily(since("2026-01-05")))
			b.say(fork, "2026-03-16", daily(since("2026-03-16")))
		}, 20 + 28, 36},
		{"of three owners the one in the middle never said any", func(b bench, fork int64) {
			b.say(fork, "2026-01-05", daily(nil))
			b.sell(fork, "2026-02-02")
			b.sell(fork, "2026-03-02")
			b.say(fork, "2026-03-10", daily(nil))
		}, 28 + 28, 28},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBench(t, "north")
			fork := b.unit("fork", "Tindra Lode")
			c.say(b, fork)
			if got := b.ridden(fork, "2026-01-05", "2026-03-30"); math.Abs(got.Plain-c.hours) > 1e-9 || got.Gap != c.gap {
				t.Errorf("%v h with %d days unknown, want %v h and %d days", got.Plain, got.Gap, c.hours, c.gap)
			}
		})
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
