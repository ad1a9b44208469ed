package shop

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/rickar/cal/v2"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/worktime"
)

// Holiday is a public holiday of a region, by its own name there.
type Holiday struct {
	Day  time.Time // at midnight UTC
	Name string
}

// Calendars know the holidays of these years.
const firstHolidays, lastHolidays = 2020, 2059

// RegionOf is the region of a code.
func RegionOf(code string) (Region, bool) {
	i := slices.IndexFunc(Regions, func(r Region) bool { return r.Code == code })
	if i < 0 {
		return Region{}, false
	}
	return Regions[i], true
}

// Holidays are those of a year in order; a day kept in place of another is one
// beside it.
func (r Region) Holidays(year int) []Holiday {
	var list []Holiday
	for _, h := range r.days {
		if h.Type == cal.ObservanceOther {
			continue
		}
		actual, kept := h.Calc(year)
		list = added(list, actual, h.Name)
		if !sameDay(kept, actual) {
			list = added(list, kept, h.Name+", in lieu")
		}
	}
	slices.SortFunc(list, func(a, b Holiday) int { return a.Day.Compare(b.Day) })
	return list
}

func added(list []Holiday, at time.Time, name string) []Holiday {
	day := time.Date(at.Year(), at.Month(), at.Day(), 0, 0, 0, 0, time.UTC)
	if at.IsZero() || slices.ContainsFunc(list, func(h Holiday) bool { return h.Day.Equal(day) }) {
		return list
	}
	return append(list, Holiday{day, name})
}

// reckoned keeps the holidays of all years by region: they are always the same.
var reckoned sync.Map

func (r Region) all() []Holiday {
	if list, known := reckoned.Load(r.Code); known {
		return list.([]Holiday)
	}
	var list []Holiday
	for year := firstHolidays; year <= lastHolidays; year++ {
		list = append(list, r.Holidays(year)...)
	}
	reckoned.Store(r.Code, list)
	return list
}

// HolidaysFrom are the holidays of the shop's region in the year that begins on
// a day, those it opens on among them.
func (h Hours) HolidaysFrom(day time.Time) []Holiday {
	r, _ := RegionOf(h.HolidaysOf)
	first := time.Date(day.Year(), day.Month(), day.Day(), 0, 0, 0, 0, time.UTC)
	last := first.AddDate(1, 0, 0)
	return slices.DeleteFunc(append(r.Holidays(day.Year()), r.Holidays(day.Year()+1)...), func(d Holiday) bool {
		return d.Day.Before(first) || !d.Day.Before(last)
	})
}

// OpensOn says whether the shop opens on a holiday all the same.
func (h Hours) OpensOn(day time.Time) bool {
	return slices.ContainsFunc(h.OpenOn, func(open time.Time) bool { return sameDay(open, day) })
}

// closed is the holidays on which the shop is closed.
func (h Hours) closed() []worktime.Closure {
	r, known := RegionOf(h.HolidaysOf)
	if !known {
		return nil
	}
	var list []worktime.Closure
	for _, d := range r.all() {
		if !h.OpensOn(d.Day) {
			list = append(list, worktime.Closure{Day: d.Day, Span: worktime.Span{To: DayEnd}})
		}
	}
	return list
}

// SetHolidays says whose holidays the shop closes on, over the one that was
// seen; empty for none.
func SetHolidays(ctx context.Context, tx pgx.Tx, by history.By, was, region string) error {
	if err := mayRun(by); err != nil {
		return err
	}
	if _, known := RegionOf(region); !known && region != "" {
		return fault.Field("region", "Choose one from the list, or none.")
	}
	err := db.Changed(tx.Exec(ctx, "update shop set holidays_of = $1, version = version + 1 where holidays_of = $2", region, was))
	if err != nil {
		return fmt.Errorf("set holidays: %w", err)
	}
	return tell(ctx, tx, by, "holidays set", map[string]any{"region": region})
}

// OpenOnHoliday opens or closes the shop on one holiday of its region.
func OpenOnHoliday(ctx context.Context, tx pgx.Tx, by history.By, day time.Time, opens bool) error {
	if err := mayRun(by); err != nil {
		return err
	}
	h, err := GetHours(ctx, tx)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(h.HolidaysFrom(day), func(d Holiday) bool { return sameDay(d.Day, day) }) {
		return fault.Conflict("That day is no holiday of the region any more; look again.")
	}
	sql := "insert into holiday_open (day) values ($1) on conflict do nothing"
	if !opens {
		sql = "delete from holiday_open where day = $1"
	}
	if _, err := tx.Exec(ctx, sql, day); err != nil {
		return fmt.Errorf("open on a holiday: %w", err)
	}
	return tell(ctx, tx, by, "holiday settled", map[string]any{"day": day.Format(time.DateOnly), "open": opens})
}
