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

// OpenUntil says whether the shop closes no sooner than at on that day, so that
// what is promised by then can be picked up the same day.
func (h Hours) OpenUntil(at time.Time, loc *time.Location) bool {
	y, m, d := at.Add(-1).In(loc).Date() // the end of a day belongs to it
	day := time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	spans := h.spans(day)
	return len(spans) > 0 && !onClock(day, spans[len(spans)-1].to, loc).Before(at)
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

// SetHours puts the given week in place of the one that was read before; a
// Conflict when another one stands. Spans of one day may touch but not overlap.
func SetHours(ctx context.Context, tx pgx.Tx, by history.By, was, week []Opening) error {
	if err := mayRun(by); err != nil {
		return err
	}
	if err := checkWeek(week); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, "lock table opening in share row exclusive mode"); err != nil {
		return fmt.Errorf("set opening hours: %w", err)
	}
	stands, err := GetHours(ctx, tx)
	if err != nil {
		return err
	}
	if !slices.Equal(stands.Openings, inOrder(was)) {
		return fault.Conflict("Somebody else changed the hours since you opened them; look again.")
	}
	if _, err := tx.Exec(ctx, "delete from opening"); err != nil {
		return fmt.Errorf("set opening hours: %w", err)
	}
	for _, o := range week {
		_, err := tx.Exec(ctx, "insert into opening (weekday, open_min, close_min) values ($1, $2, $3)",
			int(o.Weekday), o.OpenMin, o.CloseMin)
		if err != nil {
			return fmt.Errorf("set opening hours: %w", err)
		}
	}
	return tell(ctx, tx, by, "hours set", map[string]any{"spans": len(week)})
}

func inOrder(week []Opening) []Opening {
	return slices.SortedFunc(slices.Values(week), func(a, b Opening) int {
		return cmp.Or(cmp.Compare(a.Weekday, b.Weekday), cmp.Compare(a.OpenMin, b.OpenMin))
	})
}

// checkWeek refuses in the field of the day.
func checkWeek(openings []Opening) error {
	fields := map[string]string{}
	week := inOrder(openings)
	for i, o := range week {
		switch {
		case o.Weekday < time.Sunday || o.Weekday > time.Saturday:
			return fmt.Errorf("weekday %d", o.Weekday)
		case !withinDay(o.OpenMin, o.CloseMin):
			fields[DayField(o.Weekday)] = fmt.Sprintf("It closes at %s, which is not after %s: for the afternoon write 18:00 or 6 pm.",
				Clock(o.CloseMin), Clock(o.OpenMin))
		case i > 0 && week[i-1].Weekday == o.Weekday && week[i-1].CloseMin > o.OpenMin:
			fields[DayField(o.Weekday)] = fmt.Sprintf("%s and %s overlap.", week[i-1].Words(), o.Words())
		}
	}
	if len(fields) > 0 {
		return &fault.Invalid{Fields: fields}
	}
	return nil
}

func withinDay(from, to int) bool { return 0 <= from && from < to && to <= DayEnd }

// Words is the span as people read it: "09:00 to 12:30".
func (o Opening) Words() string { return Clock(o.OpenMin) + " to " + Clock(o.CloseMin) }

// UsualWeeks are some that a new shop begins with: common practice (no source).
var UsualWeeks = [][]Opening{
	daysFrom(time.Tuesday, time.Saturday, Opening{OpenMin: 600, CloseMin: 1080}),
	slices.Concat(
		daysFrom(time.Monday, time.Friday, Opening{OpenMin: 540, CloseMin: 1050}),
		daysFrom(time.Saturday, time.Saturday, Opening{OpenMin: 540, CloseMin: 960})),
	slices.Concat(
		daysFrom(time.Tuesday, time.Friday, Opening{OpenMin: 600, CloseMin: 780}, Opening{OpenMin: 840, CloseMin: 1110}),
		daysFrom(time.Saturday, time.Saturday, Opening{OpenMin: 600, CloseMin: 840})),
}

func daysFrom(first, last time.Weekday, spans ...Opening) []Opening {
	var week []Opening
	for day := first; day <= last; day++ {
		for _, o := range spans {
			week = append(week, Opening{day, o.OpenMin, o.CloseMin})
		}
	}
	return week
}
