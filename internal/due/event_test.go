package due_test

import (
	"testing"
	"time"

	"damperdesk/internal/due"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/shop"
)

func (b bench) happen(unit int64, date, kind string) {
	b.t.Helper()
	by := b.on(date)
	b.must(interval.Happen(ctx, b.tx, by, unit, interval.Happened{Kind: kind}, interval.AtDesk, interval.Day(by.At, time.UTC)))
}

// After a crash the crown and steerer, after a jet wash the lowers, each now:
// common practice (no source). A full service looks at both.
func TestWhatHappenedStandsOnTheDueList(t *testing.T) {
	b := newBench(t, "north")
	fork, shock := b.unit("fork", "Tindra Lode"), b.unit("rear shock", "Tindra Vein")
	b.happen(fork, "2026-04-01", interval.Crash)
	b.happen(shock, "2026-04-01", interval.Crash) // it has no steerer
	b.expect("2026-04-01", fork, "crown-steerer due never")
	b.expect("2026-04-29", fork, "crown-steerer overdue never")
	b.expect("2026-04-01", shock, "unknown never")
	b.serve(fork, "2026-05-01", "lower-leg")
	b.expect("2026-05-02", fork, "crown-steerer overdue never, lower-leg unknown 2026-05-01")
	b.serve(fork, "2026-05-03", "crown-steerer")
	b.expect("2026-05-04", fork, "lower-leg unknown 2026-05-01")
	b.happen(fork, "2026-05-10", interval.JetWash)
	b.happen(fork, "2026-05-10", interval.Crash)
	b.expect("2026-05-10", fork, "crown-steerer due 2026-05-03, lower-leg due 2026-05-01")
	id := b.bring(fork, "2026-05-11", interval.Said{}, "full")
	b.must(job.Cancel(ctx, b.tx, b.on("2026-05-11"), id, "returned undone", "as agreed"))
	b.expect("2026-05-11", fork, "crown-steerer due 2026-05-03, lower-leg due 2026-05-01")
	b.serve(fork, "2026-05-12", "full")
	rows, err := due.OfUnit(ctx, b.tx, fork, day("2026-05-12"))
	b.must(err)
	for _, r := range rows {
		if r.Asked != nil {
			t.Errorf("%s is still asked for after a full service: %+v", r.Code, r.Asked)
		}
	}
}

// The shop's own season says when a full service is due, once between its end
// and the next beginning.
func TestTheShopsOwnSeason(t *testing.T) {
	b := newBench(t, "north")
	fork := b.unit("fork", "Tindra Lode")
	b.must(interval.Set(ctx, b.tx, b.on("2025-12-01"), interval.Rule{ServiceCode: "lower-leg", Season: true, Version: 1}))
	b.must(shop.SetSeason(ctx, b.tx, b.on("2025-12-01"), 1, shop.YearDay{Month: 11, Day: 15}, shop.YearDay{Month: 2, Day: 10}))
	b.serve(fork, "2025-12-24", "lower-leg")
	b.expect("2026-01-12", fork, "lower-leg fine 2025-12-24")
	b.expect("2026-01-13", fork, "lower-leg soon 2025-12-24")
	b.expect("2026-02-10", fork, "lower-leg due 2025-12-24")
	b.expect("2026-11-14", fork, "lower-leg due 2025-12-24")
	b.expect("2026-11-15", fork, "lower-leg overdue 2025-12-24")
}
