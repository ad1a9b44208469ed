package due_test

import (
	"testing"

	"damperdesk/internal/due"
	"damperdesk/internal/interval"
)

// One fork, two services by 50 h that one job did: two days on which a forecast
// could be made are two forecasts. Little history says so.
func TestBacktestOfTheShopsOwnPast(t *testing.T) {
	b := newBench(t, "north")
	fork := b.unit("fork", "Tindra Lode")
	b.serve(fork, "2025-03-01", "air-spring")
	b.say(fork, "2025-03-01", interval.Said{RidesAWeek: number(2), HoursARide: number(1.5)})
	left, june := day("2025-03-01"), day("2025-06-20")
	left, june = interval.Day(left, left.Location()), interval.Day(june, june.Location())
	b.say(fork, "2025-06-20", interval.Said{Hours: number(45), HoursSince: &left})
	b.say(fork, "2025-08-01", interval.Said{Hours: number(20), HoursSince: &june})
	past, err := due.Backtest(ctx, b.tx, interval.Day(day("2025-12-01"), left.Location()))
	b.must(err)
	if past.Forecasts != 2 || past.Inside != 2 || past.OffDays == nil || *past.OffDays > 30 || past.Enough() {
		t.Errorf("got %+v, want two forecasts that came true, and too few to say more", past)
	}
	later, err := due.Backtest(ctx, b.tx, interval.Day(day("2026-12-01"), left.Location()))
	b.must(err)
	if later.Forecasts != 0 {
		t.Errorf("a year later: %+v, want none", later)
	}
}
