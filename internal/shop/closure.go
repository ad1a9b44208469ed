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

// Closure is a span of one day on which the shop is closed although it usually
// opens. 0 to DayEnd is the whole day.
type Closure struct {
	// Day counts by its year, month and day alone.
	Day     time.Time
	FromMin int
	ToMin   int
}

// Break is the same closure on one day or on several in a row.
type Break struct {
	First, Last    time.Time
	FromMin, ToMin int
}

// mostClosed is how many days in a row a shop can close for at once.
const mostClosed = 366

// Breaks joins the closures of days in a row, the first one first.
func (h Hours) Breaks() []Break {
	var list []Break
	open := map[[2]int]int{} // where the newest break of the same hours is
	for _, c := range h.Closures {
		hours := [2]int{c.FromMin, c.ToMin}
		if i, found := open[hours]; found && sameDay(list[i].Last.AddDate(0, 0, 1), c.Day) {
			list[i].Last = c.Day
			continue
		}
		open[hours] = len(list)
		list = append(list, Break{c.Day, c.Day, c.FromMin, c.ToMin})
	}
	slices.SortStableFunc(list, func(a, b Break) int { return cmp.Or(a.First.Compare(b.First), cmp.Compare(a.FromMin, b.FromMin)) })
	return list
}

func sameDay(a, b time.Time) bool {
	ay, am, ad := a.Date()
	by, bm, bd := b.Date()
	return ay == by && am == bm && ad == bd
}

func (b Break) check() error {
	fields := map[string]string{}
	if !withinDay(b.FromMin, b.ToMin) {
		fields["until"] = "It ends after it begins, both within the day."
	}
	switch days := int(b.Last.Sub(b.First).Hours()/24) + 1; {
	case days < 1:
		fields["last"] = "The last day comes before the first."
	case days > mostClosed:
		fields["last"] = "That is more than a year: close for a year at most."
	}
	if len(fields) > 0 {
		return &fault.Invalid{Fields: fields}
	}
	return nil
}

// AddBreak closes the shop on the days of b. Where a closure of a day begins at
// the same minute already, it becomes longer, never shorter.
func AddBreak(ctx context.Context, tx pgx.Tx, by history.By, b Break) error {
	if err := mayRun(by); err != nil {
		return err
	}
	if err := b.check(); err != nil {
		return err
	}
	_, err := tx.Exec(ctx, `insert into closure (day, from_min, to_min)
		select day::date, $3, $4 from generate_series($1::date, $2::date, '1 day') as day
		on conflict (day, from_min) do update set to_min = greatest(closure.to_min, excluded.to_min)`,
		b.First, b.Last, b.FromMin, b.ToMin)
	if err != nil {
		return fmt.Errorf("add closure: %w", err)
	}
	return tell(ctx, tx, by, "closure added", b.detail())
}

// RemoveBreak opens the shop again where the closures of b stood; one that is
// no longer as it was is a Conflict.
func RemoveBreak(ctx context.Context, tx pgx.Tx, by history.By, b Break) error {
	if err := mayRun(by); err != nil {
		return err
	}
	tag, err := tx.Exec(ctx, "delete from closure where day between $1 and $2 and from_min = $3 and to_min = $4",
		b.First, b.Last, b.FromMin, b.ToMin)
	if err := db.Changed(tag, err); err != nil {
		return fmt.Errorf("remove closure: %w", err)
	}
	return tell(ctx, tx, by, "closure removed", b.detail())
}

func (b Break) detail() map[string]any {
	return map[string]any{
		"first": b.First.Format(time.DateOnly), "last": b.Last.Format(time.DateOnly), "from_min": b.FromMin, "to_min": b.ToMin,
	}
}
