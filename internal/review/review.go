// Package review reads what the owner looks at once a week: how long units take
// and which promises were kept, what keeps jobs from going on, and what stands
// ready and is not fetched. It writes nothing.
//
// Times of stages come from stage_change alone. Days begin and weeks turn by
// the shop's clock; weeks are those of ISO 8601.
package review

import (
	"context"
	"fmt"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/procedure"
	"damperdesk/internal/stat"
)

// Review is one period beside the one before it, and how the shop stands now.
type Review struct {
	Begun     time.Time // of the records; zero: there are none
	Now, Prev Figures
	Weeks     []WeekFigures // those of the period, and what makes up half a year
	Limits    *stat.Limits  // of the lead time by week; nil: too few weeks
	LeastFor  int           // weeks that limits take
	Kept      []Kept        // all services first
	Fitted    []Fitted
	Comebacks []Comeback
	Blocked   []Blocked
	Unfetched []Unfetched
}

// Read reads the review of a period at the moment now.
func Read(ctx context.Context, q db.Querier, p Period, now time.Time) (Review, error) {
	r, err := read(ctx, q, p, now)
	if err != nil {
		return Review{}, fmt.Errorf("read review: %w", err)
	}
	return r, nil
}

func read(ctx context.Context, q db.Querier, p Period, now time.Time) (r Review, err error) {
	r.LeastFor = leastWeeks
	if r.Begun, err = begun(ctx, q); err != nil {
		return r, err
	}
	before, weeks := p.Before(), p.Weeks(weeksShown)
	since := before.From
	if first := weeks[0].From; first.Before(since) {
		since = first
	}
	list, err := stays(ctx, q, since)
	if err != nil {
		return r, err
	}
	if r.Now, err = figures(list, p, now); err != nil {
		return r, err
	}
	if r.Prev, err = figures(list, before, now); err != nil {
		return r, err
	}
	r.Now.Whole = !r.Begun.IsZero() && !r.Begun.After(p.From)
	r.Prev.Whole = !r.Begun.IsZero() && !r.Begun.After(before.From)
	if r.Now.Outside, r.Prev.Outside, err = outside(ctx, q, p); err != nil {
		return r, err
	}
	if r.Weeks, r.Limits, err = weekly(list, weeks, now); err != nil {
		return r, err
	}
	services, err := procedure.Services(ctx, q)
	if err != nil {
		return r, err
	}
	if r.Kept, err = keptBy(list, services, p, now); err != nil {
		return r, err
	}
	if r.Fitted, err = fitted(ctx, q, p); err != nil {
		return r, err
	}
	if r.Comebacks, err = comebacks(ctx, q, p); err != nil {
		return r, err
	}
	return r, r.stand(ctx, q, now, p.From.Location())
}

// begun is when the first job was recorded; zero where there is none.
func begun(ctx context.Context, q db.Querier) (time.Time, error) {
	rows, err := q.Query(ctx, "select at from stage_change order by id limit 1")
	type row struct{ At time.Time }
	list, err := db.All[row](rows, err)
	if err != nil || len(list) == 0 {
		return time.Time{}, err
	}
	return list[0].At, nil
}

// live is the sign-offs of a period and the one before that nobody crossed out.
const live = `signoff o join sheet_step s on s.id = o.step_id
	where o.at >= $1 and o.at < $3 and o.role = 'done' and o.outcome = 'done'
		and not exists (select from cross_out x where x.signoff_id = o.id)`

func outside(ctx context.Context, q db.Querier, p Period) (now, before int, err error) {
	err = q.QueryRow(ctx, `select count(*) filter (where o.at >= $2), count(*) filter (where o.at < $2)
		from `+live+` and not o.in_window`, p.Before().From, p.From, p.To).Scan(&now, &before)
	if err != nil {
		return 0, 0, fmt.Errorf("count what was outside its window: %w", err)
	}
	return now, before, nil
}

// Fitted is how often a step that fits parts was signed, by its title: the
// bench records that it was done, not how many parts went in.
type Fitted struct {
	Title     string
	Now, Prev int
}

func fitted(ctx context.Context, q db.Querier, p Period) ([]Fitted, error) {
	rows, err := q.Query(ctx, `select s.title, count(*) filter (where o.at >= $2) as now, count(*) filter (where o.at < $2) as prev
		from `+live+` and s.kind = 'fit' group by s.title order by now desc, prev desc, s.title`, p.Before().From, p.From, p.To)
	list, err := db.All[Fitted](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read parts: %w", err)
	}
	return list, nil
}
