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
	Ring    bool           // of all states those that somebody may be rung in; always, where it is sorted
	Urgent  bool           // of these, what it is time to invite for, from soon on, of riders who want such mail
	Sort    Sort           // empty: the most due first
	Worth   map[Kind]int64 // what MostWorth goes by, in one currency
	From    int            // so many rows are left out before it
	Rows    int            // at most
	of      []int64        // the units that what is urgent is of
}

// Listing is a part of the due list of the whole shop.
type Listing struct {
	Rows     []Row                  // the most urgent first
	Count    map[interval.State]int // of the service that is asked for
	Services []procedure.Service    // of which any unit stands on it, in the shop's order
	Empty    bool                   // no unit has ever been taken in
}

// offSQL is whether a row of due is put off on the day $1, bookedSQL whether its
// unit is to come in.
const (
	offSQL = `(unit_id in (select unit_id from put_off_now where service_code is null and (until is null or until > $1))
		or (unit_id, service_code) in (select unit_id, service_code from put_off_now where until > $1))`
	bookedSQL = "open_job in (select id from job where closed_at is null and stage = 'booked')"
	ringSQL   = "open_job is null and not " + offSQL
)

// stateSQL is which rows stand so on the day $1, in the order of States.
var stateSQL = []string{
	ringSQL + " and overdue_on <= $1",
	ringSQL + " and due_on <= $1 and (overdue_on > $1 or overdue_on is null)",
	ringSQL + " and soon_on <= $1 and (due_on > $1 or due_on is null)",
	ringSQL + " and wants <> '' and (soon_on > $1 or soon_on is null)",
	ringSQL + " and wants = '' and (soon_on > $1 or soon_on is null)",
	"open_job is not null and not " + bookedSQL,
	bookedSQL,
	"open_job is null and " + offSQL,
}

// standsSQL is the place in stateSQL of how a row stands, from 0: all of them in one
// pass, in which what is put off is looked up once for each row.
const standsSQL = `case when ` + bookedSQL + ` then 6 when open_job is not null then 5 when ` + offSQL + ` then 7
	when overdue_on <= $1 then 0 when due_on <= $1 then 1 when soon_on <= $1 then 2 when wants <> '' then 3 else 4 end`

// List reads the due list.
//
// A service counts for a unit once it has been done here: on a job that ended
// done, by itself or covered by another of that job; or while something that
// happened to the unit asks for it. Any other ending leaves the list as it was. A unit that has had none stands once, unknown. A service
// is left out where another that covers it is at least as urgent, so that
// nobody is rung about two when one press of the bench does both; not where a
// service of the unit is put off. A unit that
// was left for scrap is not on the list. Where one service is asked for, its
// rows stand whatever covers them, and units that have had none of it are not
// there.
func List(ctx context.Context, q db.Querier, now time.Time, ask Ask) (list Listing, err error) {
	settings, err := shop.Get(ctx, q)
	if err != nil {
		return list, fmt.Errorf("read due list: %w", err)
	}
	today := interval.Day(now, settings.Location())
	if list.Services, err = served(ctx, q, ask.Service); err != nil {
		return list, fmt.Errorf("read due list: %w", err)
	}
	if list.Count, err = count(ctx, q, today, ask.Service); err != nil {
		return list, fmt.Errorf("read due list: %w", err)
	}
	list.Empty = ask.Service == "" && len(list.Count) == 0
	if list.Rows, err = readRows(ctx, q, today, ask, list.Count); err != nil {
		return list, fmt.Errorf("read due list: %w", err)
	}
	for i, r := range list.Rows {
		s, _ := procedure.ByCode(list.Services, r.Code)
		list.Rows[i].Service = s.Name
	}
	return list, nil
}

// Urgent are the first rows of the list that it is time to invite for, of riders who
// want to be told by mail and have an address. They have no Service, only its Code.
func Urgent(ctx context.Context, q db.Querier, now time.Time, ask Ask) ([]Row, error) {
	settings, err := shop.Get(ctx, q)
	if err != nil {
		return nil, fmt.Errorf("read what is urgent: %w", err)
	}
	ask.Ring, ask.Urgent, ask.From = true, true, 0
	if ask.of, err = welcome(ctx, q); err != nil {
		return nil, fmt.Errorf("read what is urgent: %w", err)
	}
	rows, err := readRows(ctx, q, interval.Day(now, settings.Location()), ask, nil)
	if err != nil {
		return nil, fmt.Errorf("read what is urgent: %w", err)
	}
	return rows, nil
}

// served are the services of which any unit stands in the table; one that is asked
// for has to be one of the shop's.
func served(ctx context.Context, q db.Querier, asked string) ([]procedure.Service, error) {
	services, err := procedure.Services(ctx, q)
	if err != nil {
		return nil, err
	}
	if _, known := procedure.ByCode(services, asked); asked != "" && !known {
		return nil, db.NotThere("service")
	}
	rows, _ := q.Query(ctx, "select code from service s where exists (select from due where service_code = s.code)")
	had, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(services, func(s procedure.Service) bool { return !slices.Contains(had, s.Code) }), nil
}

// welcome are the units whose riders want to be told by mail that something is due,
// and have an address. What was said as somebody who was merged counts too; the
// newest holds.
func welcome(ctx context.Context, q db.Querier) ([]int64, error) {
	rows, err := q.Query(ctx, `select u.id from unit u join customer c on c.id = u.customer_id join (
			select distinct on (n.now_id) n.now_id, k.given from consent k join customer_now n on n.id = k.customer_id
			where k.kind = 'due soon' order by n.now_id, k.id desc) k on k.now_id = c.id where k.given and c.mail <> ''`)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowTo[int64])
}

// wanted is what is left of the table before it is asked how it stands; what is
// urgent is of the units of the argument at place n.
func (a Ask) wanted(n int) string {
	if a.Urgent {
		return fmt.Sprintf("%s and unit_id in (select unnest($%d::bigint[]))", wantedSQL(a.Service), n)
	}
	return wantedSQL(a.Service)
}

// args are those of a query, with the units of what is urgent last. It is planned for
// these then: a plan for any units looks through all of them for each row.
func (a Ask) args(list ...any) []any {
	if a.Urgent {
		return slices.Concat([]any{pgx.QueryExecModeCacheDescribe}, list, []any{a.of})
	}
	return list
}

// wantedSQL leaves of the table what the list has on the day $1 of a service, $2,
// or of all. Of a unit of which one service is put off no other stands behind it:
// whoever is not rung about that one is to be rung about what it covers.
func wantedSQL(service string) string {
	if service == "" {
		return `$2 = '' and (isempty(behind) or not behind @> $1::date
			or unit_id in (select unit_id from put_off_now where service_code is not null and until > $1))`
	}
	return "service_code = $2"
}

func count(ctx context.Context, q db.Querier, today time.Time, service string) (map[interval.State]int, error) {
	rows, err := q.Query(ctx, "select "+standsSQL+" as stands, count(*) as n from due where "+wantedSQL(service)+" group by 1", today, service)
	type group struct{ Stands, N int }
	groups, err := db.All[group](rows, err)
	if err != nil {
		return nil, err
	}
	counts := map[interval.State]int{}
	for _, g := range groups {
		counts[States[g.Stands]] = g.N
	}
	return counts, nil
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

// readRows reads the rows of a part: as it is sorted, or state by state, each by what
// comes due first. count says how many each state has, and may be nil where none
// are left out.
func readRows(ctx context.Context, q db.Querier, today time.Time, ask Ask, count map[interval.State]int) ([]Row, error) {
	if ask.Sort != MostDue {
		return readSorted(ctx, q, today, ask)
	}
	var list []Row
	skip := ask.From
	for i, state := range States {
		if ask.State != "" && ask.State != state || ask.Ring && !slices.Contains(interval.States, state) {
			continue
		}
		if ask.Urgent && interval.Urgency(state, interval.Soon) > 0 {
			continue
		}
		if count != nil && skip >= count[state] {
			skip -= count[state]
			continue
		}
		args := ask.args(today, ask.Service, ask.Rows-len(list), skip)
		rows, err := q.Query(ctx, selectUnit+keptSQL+" from (select * from due where "+ask.wanted(5)+" and "+stateSQL[i]+`
				order by due_on, unit_id, service_code limit $3 offset $4) d
			join unit u on u.id = d.unit_id`+fromUnit+" order by d.due_on, d.unit_id, d.service_code", args...)
		more, err := db.All[kept](rows, err)
		if err != nil {
			return nil, err
		}
		list = append(list, rowsOf(more, today, state)...)
		if skip = 0; len(list) >= ask.Rows {
			break
		}
	}
	return list, nil
}

// keptSQL are the columns of the table in kept; d is its row.
const keptSQL = `, coalesce(d.service_code, '') as service_code, coalesce(d.by, '') as by, d.wants, coalesce(d.date_by, '') as date_by,
	d.soon_on, d.due_on, d.overdue_on, d.ready_on, d.left_on, coalesce(d.hours_limit, 0) as hours_limit, coalesce(d.months_limit, 0) as months_limit,
	d.hours, d.counted_on, d.low_on, d.median_on, d.high_on, d.date_on, d.event_on`

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
