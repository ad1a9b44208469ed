package due

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/interval"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
)

// Ask is which part of the list is wanted.
type Ask struct {
	State   interval.State // empty: all
	Service string         // a code; empty: all
	From    int            // so many rows are left out before it
	Rows    int            // at most
}

// Listing is a part of the due list of the whole shop.
type Listing struct {
	Rows     []Row                  // the most urgent first
	Count    map[interval.State]int // of the service that is asked for
	Services []procedure.Service    // of which any unit stands on it, in the shop's order
	Empty    bool                   // no unit has ever been taken in
}

// urgencySQL is the place of a row's state in States, from 1 on, on the day $1.
const urgencySQL = `case when open_job is not null then 6 when overdue_on <= $1 then 1 when due_on <= $1 then 2
	when soon_on <= $1 then 3 when wants <> '' then 4 else 5 end`

// List reads the due list.
//
// A service counts for a unit once it has been done here: on a job that ended
// done, by itself or covered by another of that job; or while something that
// happened to the unit asks for it. Any other ending leaves the list as it was. A unit that has had none stands once, unknown. A service
// is left out where another that covers it is at least as urgent, so that
// nobody is rung about two when one press of the bench does both. A unit that
// was left for scrap is not on the list. Where one service is asked for, its
// rows stand whatever covers them, and units that have had none of it are not
// there.
func List(ctx context.Context, q db.Querier, now time.Time, ask Ask) (list Listing, err error) {
	settings, err := shop.Get(ctx, q)
	if err != nil {
		return list, fmt.Errorf("read due list: %w", err)
	}
	today := interval.Day(now, settings.Location())
	if list.Services, err = served(ctx, q); err != nil {
		return list, fmt.Errorf("read due list: %w", err)
	}
	if list.Count, err = count(ctx, q, today, ask.Service); err != nil {
		return list, fmt.Errorf("read due list: %w", err)
	}
	list.Empty = ask.Service == "" && len(list.Count) == 0
	if list.Rows, err = readRows(ctx, q, today, ask); err != nil {
		return list, fmt.Errorf("read due list: %w", err)
	}
	names := map[string]string{}
	for _, s := range list.Services {
		names[s.Code] = s.Name
	}
	for i := range list.Rows {
		list.Rows[i].Service = names[list.Rows[i].Code]
	}
	return list, nil
}

// served are the services of which any unit stands in the table.
func served(ctx context.Context, q db.Querier) ([]procedure.Service, error) {
	services, err := procedure.Services(ctx, q)
	if err != nil {
		return nil, err
	}
	rows, err := q.Query(ctx, "select code from service s where exists (select from due where service_code = s.code)")
	had, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(services, func(s procedure.Service) bool { return !slices.Contains(had, s.Code) }), nil
}

// wantedSQL leaves of the table what the list has on the day $1 of the service $2.
const wantedSQL = `case when $2 = '' then not behind @> $1::date else service_code = $2 end`

func count(ctx context.Context, q db.Querier, today time.Time, service string) (map[interval.State]int, error) {
	rows, err := q.Query(ctx, "select "+urgencySQL+" as urgency, count(*) from due where "+wantedSQL+" group by 1", today, service)
	if err != nil {
		return nil, err
	}
	counts := map[interval.State]int{}
	var urgency, n int
	_, err = pgx.ForEachRow(rows, []any{&urgency, &n}, func() error {
		counts[States[urgency-1]] = n
		return nil
	})
	return counts, err
}

// kept is a row of the table with its unit.
type kept struct {
	Unit
	ServiceCode              string
	By, Wants, DateBy        string
	SoonOn, DueOn, OverdueOn *time.Time
	ReadyOn, LeftOn          *time.Time
	HoursLimit, MonthsLimit  int
	Hours                    float64
	CountedOn                *time.Time
	LowOn, MedianOn, HighOn  *time.Time
	DateOn, EventOn          *time.Time
}

// readRows reads the rows of a part, in its order.
func readRows(ctx context.Context, q db.Querier, today time.Time, ask Ask) ([]Row, error) {
	rows, err := q.Query(ctx, selectUnit+`, coalesce(d.service_code, '') as service_code, coalesce(d.by, '') as by, d.wants, coalesce(d.date_by, '') as date_by,
			d.soon_on, d.due_on, d.overdue_on, d.ready_on, d.left_on, coalesce(d.hours_limit, 0) as hours_limit, coalesce(d.months_limit, 0) as months_limit,
			d.hours, d.counted_on, d.low_on, d.median_on, d.high_on, d.date_on, d.event_on
		from (select *, `+urgencySQL+` as urgency from due
			where `+wantedSQL+` and ($3 = 0 or `+urgencySQL+` = $3)
			order by urgency, due_on, unit_id, service_code limit $4 offset $5) d
		join unit u on u.id = d.unit_id`+fromUnit+`
		order by d.urgency, d.due_on, d.unit_id, d.service_code`,
		today, ask.Service, slices.Index(States, ask.State)+1, ask.Rows, ask.From)
	list, err := db.All[kept](rows, err)
	if err != nil {
		return nil, err
	}
	out := make([]Row, len(list))
	for i, k := range list {
		out[i] = k.row(today)
	}
	return out, nil
}

func (k kept) row(today time.Time) Row {
	o := interval.Outlook{
		Rule:  interval.Rule{ServiceCode: k.ServiceCode, ModelID: k.ModelID, Hours: k.HoursLimit, Months: k.MonthsLimit},
		Wants: interval.Wants(k.Wants), Hours: k.Hours, Counted: known(k.CountedOn),
		Forecast: interval.Forecast{Low: known(k.LowOn), Median: known(k.MedianOn), High: known(k.HighOn)},
		Soon:     known(k.SoonOn), Due: known(k.DueOn), Overdue: known(k.OverdueOn), By: interval.By(k.By),
	}
	if k.ReadyOn != nil && k.LeftOn != nil {
		o.Served = &interval.Served{Ready: *k.ReadyOn, Left: *k.LeftOn}
	}
	if k.EventOn != nil {
		o.Asked = &interval.Event{UnitID: k.ID, Kind: k.By, OnDay: *k.EventOn}
	}
	if k.DateOn != nil {
		o.Dates = []interval.Date{{By: interval.By(k.DateBy), On: *k.DateOn}}
	}
	return Row{Unit: k.Unit, Code: k.ServiceCode, Outlook: o, Today: today}
}

// known is a day, or the zero time for none.
func known(day *time.Time) time.Time {
	if day == nil {
		return time.Time{}
	}
	return *day
}
