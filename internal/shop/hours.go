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
	"damperdesk/internal/worktime"
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
	// HolidaysOf is the code of the region whose holidays it closes on; empty for
	// none. OpenOn are those on which it opens all the same.
	HolidaysOf string
	OpenOn     []time.Time
}

// Calendar counts by these hours in a zone. Hours that cannot stand, which
// SetHours and Close refuse, are never open.
func (h Hours) Calendar(zone *time.Location) worktime.Calendar {
	c, err := worktime.New(zone, weekOf(h.Openings), h.shut())
	if err != nil {
		return worktime.Calendar{}
	}
	return c
}

func weekOf(openings []Opening) (week [7][]worktime.Span) {
	for _, o := range openings {
		week[o.Weekday] = append(week[o.Weekday], worktime.Span{From: o.OpenMin, To: o.CloseMin})
	}
	return week
}

// shut is its closures and the holidays it keeps.
func (h Hours) shut() []worktime.Closure {
	shut := h.closed()
	for _, c := range h.Closures {
		shut = append(shut, worktime.Closure{Day: c.Day, Span: worktime.Span{From: c.FromMin, To: c.ToMin}})
	}
	return shut
}

// GetHours reads the week, all closures, and which holidays are kept.
func GetHours(ctx context.Context, q db.Querier) (Hours, error) {
	var b pgx.Batch
	hours := queueHours(&b)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return Hours{}, fmt.Errorf("read opening hours: %w", err)
	}
	return hours(), nil
}

// queueHours asks for the hours; once the batch is answered, hours has them.
func queueHours(b *pgx.Batch) (hours func() Hours) {
	var (
		h      Hours
		region []struct{ HolidaysOf string }
		open   []struct{ Day time.Time }
	)
	db.Queue(b, &h.Openings, "select weekday, open_min, close_min from opening order by weekday, open_min")
	db.Queue(b, &h.Closures, "select day, from_min, to_min from closure order by day, from_min")
	db.Queue(b, &region, "select holidays_of from shop")
	db.Queue(b, &open, "select day from holiday_open order by day")
	return func() Hours {
		for _, r := range region {
			h.HolidaysOf = r.HolidaysOf
		}
		for _, o := range open {
			h.OpenOn = append(h.OpenOn, o.Day)
		}
		return h
	}
}

// SetHours puts the given week in place of the one that was read before; a
// Conflict when another one stands. Some day is open; spans of one day may touch
// but not overlap.
func SetHours(ctx context.Context, tx pgx.Tx, by history.By, was, week []Opening) error {
	if err := mayRun(by); err != nil {
		return err
	}
	if len(week) == 0 {
		return fault.Field(DayField(time.Monday), "Open on no day? Type the hours of at least one; to close for a while, give the days of the closure.")
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
