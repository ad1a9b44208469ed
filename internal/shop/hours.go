package shop

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Opening is a span the shop is open on a weekday, in minutes as the local
// clock shows them: 540 is 09:00 on every day, 1440 is the end of the day.
type Opening struct {
	Weekday  time.Weekday
	OpenMin  int
	CloseMin int
}

// DayEnd is the minute at which every day ends.
const DayEnd = 24 * 60

// Closure is a span of one day on which the shop is closed although it usually
// opens. 0 to 1440 is the whole day.
type Closure struct {
	// Day counts by its year, month and day alone.
	Day     time.Time
	FromMin int
	ToMin   int
}

// Hours says when the shop is open.
type Hours struct {
	Openings []Opening
	Closures []Closure
}

// Next is the span open at the instant at, else the first one after it. A span
// begins and ends within one local day. ok is false when the shop never opens.
//
// A clock time that a change of the clocks skips counts from before the
// change; one that comes twice is the first (RFC 5545, 3.3.5). A span that a
// change leaves empty is passed over.
func (h Hours) Next(at time.Time, loc *time.Location) (from, to time.Time, ok bool) {
	y, m, d := at.In(loc).Date()
	// Each closure can take away one week's only opening, a change of the
	// clocks another.
	horizon := 7 * (len(h.Closures) + 3)
	for n := range horizon {
		day := time.Date(y, m, d+n, 0, 0, 0, 0, time.UTC)
		for _, s := range h.spans(day) {
			from, to = onClock(day, s.from, loc), onClock(day, s.to, loc)
			if from.Before(to) && at.Before(to) {
				return from, to, true
			}
		}
	}
	return time.Time{}, time.Time{}, false
}

type span struct{ from, to int }

// spans is what is left of the day's openings after its closures, in order.
func (h Hours) spans(day time.Time) []span {
	var open []span
	for _, o := range h.Openings {
		if o.Weekday == day.Weekday() {
			open = append(open, span{o.OpenMin, o.CloseMin})
		}
	}
	for _, c := range h.Closures {
		if sameDay(c.Day, day) {
			open = without(open, span{c.FromMin, c.ToMin})
		}
	}
	slices.SortFunc(open, func(a, b span) int { return cmp.Compare(a.from, b.from) })
	return open
}

func without(open []span, shut span) []span {
	var left []span
	for _, s := range open {
		before := span{s.from, min(s.to, shut.from)}
		after := span{max(s.from, shut.to), s.to}
		for _, part := range []span{before, after} {
			if part.from < part.to {
				left = append(left, part)
			}
		}
	}
	return left
}

func sameDay(a, b time.Time) bool {
	ay, am, ad := a.Date()
	by, bm, bd := b.Date()
	return ay == by && am == bm && ad == bd
}

// onClock is the instant at which the clocks of loc show minute on day, which
// is a midnight in UTC.
func onClock(day time.Time, minute int, loc *time.Location) time.Time {
	shown := day.Add(time.Duration(minute) * time.Minute)
	less := func(offset int) time.Time { return shown.Add(-time.Duration(offset) * time.Second).In(loc) }
	// No offset exceeds 14 hours: a day to each side is clear of any change
	// that could concern this minute.
	before, after := offsetAt(shown.AddDate(0, 0, -1), loc), offsetAt(shown.AddDate(0, 0, 1), loc)
	if t := less(after); offsetAt(less(before), loc) != before && offsetAt(t, loc) == after {
		return t
	}
	return less(before)
}

func offsetAt(t time.Time, loc *time.Location) int {
	_, offset := t.In(loc).Zone()
	return offset
}

// GetHours reads the week and all closures.
func GetHours(ctx context.Context, q db.Querier) (Hours, error) {
	rows, err := q.Query(ctx, "select weekday, open_min, close_min from opening order by weekday, open_min")
	openings, err := db.All[Opening](rows, err)
	if err != nil {
		return Hours{}, fmt.Errorf("read opening hours: %w", err)
	}
	rows, err = q.Query(ctx, "select day, from_min, to_min from closure order by day, from_min")
	closures, err := db.All[Closure](rows, err)
	if err != nil {
		return Hours{}, fmt.Errorf("read closures: %w", err)
	}
	return Hours{Openings: openings, Closures: closures}, nil
}

// SetHours puts the given week in place of the one before. Spans of one day
// may touch but not overlap.
func SetHours(ctx context.Context, tx pgx.Tx, by history.By, openings []Opening) error {
	if err := checkWeek(openings); err != nil {
		return err
	}
	// Two people who save at once come one after the other; the later week stands.
	if _, err := tx.Exec(ctx, "lock table opening in share row exclusive mode"); err != nil {
		return fmt.Errorf("set opening hours: %w", err)
	}
	if _, err := tx.Exec(ctx, "delete from opening"); err != nil {
		return fmt.Errorf("set opening hours: %w", err)
	}
	for _, o := range openings {
		_, err := tx.Exec(ctx, "insert into opening (weekday, open_min, close_min) values ($1, $2, $3)",
			int(o.Weekday), o.OpenMin, o.CloseMin)
		if err != nil {
			return fmt.Errorf("set opening hours: %w", err)
		}
	}
	return tell(ctx, tx, by, "hours set", map[string]any{"spans": len(openings)})
}

func checkWeek(openings []Opening) error {
	week := slices.Clone(openings)
	slices.SortFunc(week, func(a, b Opening) int {
		return cmp.Or(cmp.Compare(a.Weekday, b.Weekday), cmp.Compare(a.OpenMin, b.OpenMin))
	})
	for i, o := range week {
		if o.Weekday < time.Sunday || o.Weekday > time.Saturday {
			return fault.Field("opening", "Choose a day of the week.")
		}
		if !withinDay(o.OpenMin, o.CloseMin) {
			return fault.Field("opening", fmt.Sprintf("%s: opening comes before closing, both within the day.", o.Weekday))
		}
		if i > 0 && week[i-1].Weekday == o.Weekday && week[i-1].CloseMin > o.OpenMin {
			return fault.Field("opening", fmt.Sprintf("%s: %s and %s overlap.", o.Weekday, week[i-1].Words(), o.Words()))
		}
	}
	return nil
}

func withinDay(from, to int) bool { return 0 <= from && from < to && to <= DayEnd }

// Words is the span as people read it: "09:00 to 12:30".
func (o Opening) Words() string { return Clock(o.OpenMin) + " to " + Clock(o.CloseMin) }

// Clock is a minute of the day as the clock shows it; the end of the day is
// "24:00".
func Clock(minute int) string { return fmt.Sprintf("%02d:%02d", minute/60, minute%60) }

// AddClosure closes the shop for a span of a day. One that begins at the same
// minute as another of that day makes it longer, never shorter.
func AddClosure(ctx context.Context, tx pgx.Tx, by history.By, c Closure) error {
	if !withinDay(c.FromMin, c.ToMin) {
		return fault.Field("closure", "A closure begins before it ends, both within the day.")
	}
	_, err := tx.Exec(ctx, `insert into closure (day, from_min, to_min) values ($1, $2, $3)
		on conflict (day, from_min) do update set to_min = greatest(closure.to_min, excluded.to_min)`,
		c.Day, c.FromMin, c.ToMin)
	if err != nil {
		return fmt.Errorf("add closure: %w", err)
	}
	return tell(ctx, tx, by, "closure added", c.detail())
}

// RemoveClosure opens the shop again where a closure stood: the one of c's day
// that begins at its FromMin.
func RemoveClosure(ctx context.Context, tx pgx.Tx, by history.By, c Closure) error {
	tag, err := tx.Exec(ctx, "delete from closure where day = $1 and from_min = $2", c.Day, c.FromMin)
	if err := db.Changed(tag, err); err != nil {
		return fmt.Errorf("remove closure: %w", err)
	}
	return tell(ctx, tx, by, "closure removed", c.detail())
}

func (c Closure) detail() map[string]any {
	return map[string]any{"day": c.Day.Format(time.DateOnly), "from_min": c.FromMin, "to_min": c.ToMin}
}
