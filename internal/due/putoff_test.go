package due_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"damperdesk/internal/due"
	"damperdesk/internal/fault"
	"damperdesk/internal/interval"
)

// standing says of each put-off of a unit its service, kind and day.
func (b bench) standing(unit int64) []string {
	b.t.Helper()
	list, err := due.PutOffs(ctx, b.tx, unit)
	b.must(err)
	var words []string
	for _, p := range list {
		until := "for good"
		if p.Until != nil {
			until = p.Until.Format(time.DateOnly)
		}
		words = append(words, p.Service+" "+p.Kind+" "+until)
	}
	return words
}

func TestWhatIsPutOff(t *testing.T) {
	b := newBench(t, "north")
	fork, other := b.unit("fork", "Tindra Lode"), b.unit("fork", "Halvard Sill")
	until := interval.Day(day("2026-06-01"), time.UTC)
	put := func(date string, p due.PutOff) {
		t.Helper()
		by := b.on(date)
		b.must(due.Put(ctx, b.tx, by, p, interval.Day(by.At, time.UTC)))
	}
	expect := func(unit int64, want ...string) {
		t.Helper()
		if got := b.standing(unit); !slices.Equal(got, want) {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	put("2026-03-01", due.PutOff{UnitID: fork, Service: "lower-leg", Kind: due.Snoozed, Until: &until, Reason: "not riding"})
	put("2026-03-01", due.PutOff{UnitID: other, Kind: due.Elsewhere})
	expect(fork, "lower-leg snoozed 2026-06-01")
	expect(other, " elsewhere for good")

	b.must(due.TakeBack(ctx, b.tx, b.on("2026-03-02"), fork, "lower-leg"))
	expect(fork)
	if err := due.TakeBack(ctx, b.tx, b.on("2026-03-02"), fork, "lower-leg"); err == nil {
		t.Error("taken back twice")
	}

	put("2026-03-03", due.PutOff{UnitID: fork, Kind: due.Snoozed, Until: &until})
	b.serve(fork, "2026-03-04", "lower-leg") // it comes in: nothing is put off any more
	b.serve(other, "2026-03-05", "full")
	expect(fork)
	expect(other)
}

func TestUntilWhenItIsPutOff(t *testing.T) {
	today, until := day("2026-03-01").Truncate(24*time.Hour), day("2026-06-01").Truncate(24*time.Hour)
	one := due.PutOff{Service: "full", Until: &until}
	for _, c := range []struct {
		p       due.PutOff
		service string
		on      time.Time
		want    bool
	}{
		{one, "full", today, true}, {one, "full", until, false}, {one, "lower-leg", today, false},
		{due.PutOff{Until: &until}, "lower-leg", today, true}, {due.PutOff{Kind: due.Elsewhere}, "full", until, true},
	} {
		if got := c.p.Holds(c.service, c.on); got != c.want {
			t.Errorf("%+v for %s on %s: got %v", c.p, c.service, c.on, got)
		}
	}
}

func TestWhatCannotBePutOff(t *testing.T) {
	b := newBench(t, "north")
	fork := b.unit("fork", "Tindra Lode")
	today := interval.Day(day("2026-03-01"), time.UTC)
	far, yesterday := today.AddDate(2, 0, 1), today.AddDate(0, 0, -1)
	for _, c := range []struct {
		p     due.PutOff
		field string
	}{
		{due.PutOff{Kind: due.Snoozed}, "put-until"}, {due.PutOff{Kind: due.Snoozed, Until: &today}, "put-until"},
		{due.PutOff{Kind: due.Snoozed, Until: &yesterday}, "put-until"}, {due.PutOff{Kind: due.Snoozed, Until: &far}, "put-until"},
		{due.PutOff{Kind: "back"}, "kind"}, {due.PutOff{Kind: due.Elsewhere, Service: "full"}, "kind"},
		{due.PutOff{Kind: due.Elsewhere, Reason: "moved"}, "reason"},
	} {
		c.p.UnitID = fork
		var invalid *fault.Invalid
		err := due.Put(ctx, b.tx, b.on("2026-03-01"), c.p, today)
		if !errors.As(err, &invalid) || invalid.Fields[c.field] == "" {
			t.Errorf("%+v: got %v, want a fault at %s", c.p, err, c.field)
		}
	}
}

// An air-spring service covers the lower legs, common practice (no source): put
// off, it keeps nobody from being rung about them.
func TestWhatIsPutOffHidesNothingElse(t *testing.T) {
	b := newBench(t, "north")
	fork := b.unit("fork", "Tindra Lode")
	b.serve(fork, "2025-01-10", "air-spring")
	b.serve(fork, "2025-01-20", "lower-leg")
	b.expect("2026-04-01", fork, "air-spring overdue 2025-01-10")
	today, until := interval.Day(day("2026-04-01"), time.UTC), interval.Day(day("2026-06-01"), time.UTC)
	b.must(due.Put(ctx, b.tx, b.on("2026-04-01"), due.PutOff{UnitID: fork, Service: "air-spring", Kind: due.Snoozed, Until: &until}, today))
	b.expect("2026-04-02", fork, "lower-leg overdue 2025-01-20, air-spring put off 2025-01-10")
	found := b.ask("2026-04-02", due.Ask{Rows: 100})
	if found.Count[interval.Overdue] != 1 || found.Count[due.Off] != 1 {
		t.Errorf("counted %v, want one overdue and one put off", found.Count)
	}
	b.expect("2026-06-01", fork, "air-spring overdue 2025-01-10")
}
