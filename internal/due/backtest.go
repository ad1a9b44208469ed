package due

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
)

// Backtested is how forecasts came true that could have been made, by what was
// known on their day.
type Backtested struct {
	Forecasts int
	Inside    int      // that came true within the band, which four in five should
	OffDays   *float64 // the median of how far the median was off; nil for none
	Since     time.Time
	Until     time.Time
}

// LeastForecasts is how many there have to be before a share of them is said: of
// twenty, 80 % is known to 18 more or less.
const LeastForecasts = 20

// Enough reports whether there are as many.
func (b Backtested) Enough() bool { return b.Forecasts >= LeastForecasts }

// Share is the part of them that came true within the band.
func (b Backtested) Share() float64 { return float64(b.Inside) / float64(max(b.Forecasts, 1)) }

// Backtest makes the forecasts of hours again that could have been made, whose
// hours were then ridden, as later counts say, in the year up to a day; or were
// not by the end of the band. The norm is fitted to what was known at the
// beginning of the half-year, the rules are those of now. It reads of at most 2000
// units.
func Backtest(ctx context.Context, q db.Querier, day time.Time) (Backtested, error) {
	past := Backtested{Since: day.AddDate(-1, 0, 0), Until: day}
	b, err := readShop(ctx, q)
	if err != nil {
		return past, fmt.Errorf("try forecasts on the past: %w", err)
	}
	units, err := interval.Sample(ctx, q)
	if err != nil {
		return past, err
	}
	norms, err := b.norms(ctx, q, units, past.Since, day)
	if err != nil {
		return past, fmt.Errorf("try forecasts on the past: %w", err)
	}
	var off []int
	for part := range slices.Chunk(units, atOnce) {
		list, err := b.pasts(ctx, q, part, norms)
		if err != nil {
			return past, fmt.Errorf("try forecasts on the past: %w", err)
		}
		for _, p := range list {
			if came := p.Came; came.IsZero() && (p.High.Before(past.Since) || p.High.After(day)) || !came.IsZero() && (came.Before(past.Since) || came.After(day)) {
				continue
			}
			off = append(off, p.Off())
			if p.Inside() {
				past.Inside++
			}
		}
	}
	if past.Forecasts = len(off); past.Forecasts > 0 {
		slices.Sort(off)
		n := len(off)
		median := float64(off[(n-1)/2]+off[n/2]) / 2
		past.OffDays = &median
	}
	return past, nil
}

// norms gives the norm of each day from half a year before since on, as it was
// known at the beginning of its half-year.
func (b book) norms(ctx context.Context, q db.Querier, units []int64, since, day time.Time) (func(time.Time) interval.Norm, error) {
	var begins []time.Time
	var list []interval.Norm
	for at := since.AddDate(0, -6, 0); at.Before(day); at = at.AddDate(0, 6, 0) {
		norm, err := interval.FitTo(ctx, q, b.zone, b.season, units, at)
		if err != nil {
			return nil, err
		}
		begins, list = append(begins, at), append(list, norm)
	}
	return func(day time.Time) interval.Norm {
		for i, at := range slices.Backward(begins) {
			if !day.Before(at) {
				return list[i]
			}
		}
		return interval.Shipped(b.season)
	}, nil
}

// done is a job that ended done.
type done struct {
	UnitID, ModelID int64
	Kind            string
	Services        []string
	ReadyAt         time.Time
	ClosedAt        time.Time
}

func (b book) pasts(ctx context.Context, q db.Querier, units []int64, norms func(time.Time) interval.Norm) ([]interval.Past, error) {
	told, err := interval.ReadTold(ctx, q, b.zone, b.season, units...)
	if err != nil {
		return nil, err
	}
	rows, err := q.Query(ctx, `select j.unit_id, coalesce(u.model_id, 0) as model_id, u.kind, coalesce(j.ready_at, j.closed_at) as ready_at, j.closed_at,
			array(select service_code from job_service where job_id = j.id) as services
		from job j join unit u on u.id = j.unit_id where j.ending = $1 and j.unit_id = any ($2) order by j.unit_id, j.closed_at`, job.Done, units)
	jobs, err := db.All[done](rows, err)
	if err != nil {
		return nil, err
	}
	var list []interval.Past
	for len(jobs) > 0 {
		n := slices.IndexFunc(jobs, func(d done) bool { return d.UnitID != jobs[0].UnitID })
		if n < 0 {
			n = len(jobs)
		}
		list = append(list, b.pastsOf(told, jobs[:n], norms)...)
		jobs = jobs[n:]
	}
	return list, nil
}

// pastsOf are the forecasts of the jobs of one unit. Two services that came due
// by the same hours since the same job are one forecast.
func (b book) pastsOf(told interval.Told, jobs []done, norms func(time.Time) interval.Norm) []interval.Past {
	type forecast struct {
		job, hours int
	}
	seen := map[forecast]bool{}
	var list []interval.Past
	for _, s := range b.services {
		rule, _ := b.rules.For(s.Code, jobs[0].ModelID)
		var of []int // jobs that did it
		for i, d := range jobs {
			if slices.ContainsFunc(d.Services, func(code string) bool { return slices.Contains(b.covers[code], s.Code) }) {
				of = append(of, i)
			}
		}
		for n, i := range of {
			if rule.Hours == 0 || seen[forecast{i, rule.Hours}] {
				continue
			}
			seen[forecast{i, rule.Hours}] = true
			var next time.Time
			if n+1 < len(of) {
				next = interval.Day(jobs[of[n+1]].ReadyAt, b.zone)
			}
			list = append(list, told.Pasts(jobs[i].UnitID, rule.Hours, interval.Day(jobs[i].ClosedAt, b.zone), next, norms)...)
		}
	}
	return list
}

func (p Backtested) keep(ctx context.Context, tx pgx.Tx) error {
	_, err := tx.Exec(ctx, `insert into due_backtest (forecasts, inside, off_days, since, until) values ($1, $2, $3, $4, $5)
		on conflict (one) do update set forecasts = $1, inside = $2, off_days = $3, since = $4, until = $5`,
		p.Forecasts, p.Inside, p.OffDays, p.Since, p.Until)
	return err
}

// LastBacktest is the one of the newest scan, without any forecast where there
// was none.
func LastBacktest(ctx context.Context, q db.Querier) (Backtested, error) {
	rows, err := q.Query(ctx, "select forecasts, inside, off_days, since, until from due_backtest")
	list, err := db.All[Backtested](rows, err)
	if err != nil || len(list) == 0 {
		return Backtested{}, err
	}
	return list[0], nil
}
