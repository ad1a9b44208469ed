package plan_test

import (
	"fmt"
	"slices"
	"testing"

	"damperdesk/internal/job"
)

// What is pinned comes first and the rest as promised; behind them what waits, by
// when its wait is over; last what the line does not have.
func TestTheOrderOfWhatIsToBeBegun(t *testing.T) {
	d := newDesk(t)
	late, soon := d.takeIn("2026-10-20 18:00"), d.takeIn("2026-10-15 18:00")
	next := d.takeIn("2026-10-22 18:00")
	long, short := d.takeIn("2026-10-14 18:00"), d.takeIn("2026-10-16 18:00")
	d.must(job.PinJob(ctx, d.tx, d.act(d.by), job.Pin{JobID: next.ID, Kind: job.NextUp}))
	d.hold(long, job.WaitingOnParts, "2026-10-17")
	d.hold(short, job.WaitingOnParts, "2026-10-15")
	friday := day("2026-10-16")
	held := d.takeIn("2026-10-16 17:00")
	d.must(job.PinJob(ctx, d.tx, d.act(d.by), job.Pin{JobID: held.ID, Kind: job.PinnedToDay, Day: &friday}))

	const gone = int64(1 << 40)
	ids := []int64{gone, long.ID, short.ID, late.ID, held.ID, soon.ID, next.ID}
	slices.SortStableFunc(ids, d.plan().Order)
	if got, want := fmt.Sprint(ids), fmt.Sprint([]int64{next.ID, soon.ID, late.ID, short.ID, held.ID, long.ID, gone}); got != want {
		t.Errorf("to be begun in the order %s, want %s", got, want)
	}
}
