package partslist

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/stock"
)

// Waiting lists the open jobs that want more of the items than lies aside for
// them, in the order of their promise.
func Waiting(ctx context.Context, q db.Querier, items ...int64) ([]int64, error) {
	return jobsWith(ctx, q, openSQL, items)
}

// Concerned lists the open jobs that the items lie aside for or are wanted by, in the
// same order.
func Concerned(ctx context.Context, q db.Querier, items ...int64) ([]int64, error) {
	return jobsWith(ctx, q, "(n.aside > 0 or "+openSQL+")", items)
}

func jobsWith(ctx context.Context, q db.Querier, needs string, items []int64) ([]int64, error) {
	rows, err := q.Query(ctx, `select j.id from job j join visit v on v.id = j.visit_id
		where j.closed_at is null and j.id in (select n.job_id from need n where n.item_id = any ($1) and `+needs+`)
		order by v.promised_at, j.id`, items)
	list, err := db.All[struct{ ID int64 }](rows, err)
	if err != nil {
		return nil, fmt.Errorf("look for jobs that want parts: %w", err)
	}
	ids := make([]int64, len(list))
	for i, j := range list {
		ids[i] = j.ID
	}
	return ids, nil
}

// Share makes what lies aside of the items for the jobs fit what is there: more than
// that is taken from the last of them, and what is free is set aside for those that
// want it, the first of them first. The rows of the jobs are held.
func Share(ctx context.Context, tx pgx.Tx, items, jobs []int64) error {
	needs, err := OfJobs(ctx, tx, jobs...)
	needs = slices.DeleteFunc(needs, func(n Need) bool { return !slices.Contains(items, n.ItemID) })
	if err != nil || len(needs) == 0 {
		return err
	}
	slices.SortStableFunc(needs, func(a, b Need) int { return slices.Index(jobs, a.JobID) - slices.Index(jobs, b.JobID) })
	s, err := lockAll(ctx, tx, needs)
	if err != nil {
		return err
	}
	for _, n := range slices.Backward(needs) {
		over := s.Of(n.ItemID).Aside - max(s.Of(n.ItemID).Qty, 0)
		if over = min(over, n.Aside); over > 0 {
			if err := keepAside(ctx, tx, s, &n, -over); err != nil {
				return err
			}
		}
	}
	if needs, err = OfJobs(ctx, tx, jobs...); err != nil {
		return err
	}
	slices.SortStableFunc(needs, func(a, b Need) int { return slices.Index(jobs, a.JobID) - slices.Index(jobs, b.JobID) })
	for _, n := range needs {
		if !slices.Contains(items, n.ItemID) {
			continue
		}
		if more := min(n.Open(), max(s.Of(n.ItemID).Free(), 0)); more > 0 {
			if err := keepAside(ctx, tx, s, &n, more); err != nil {
				return err
			}
		}
	}
	return nil
}

// ExpectedOn is the day by which all of what is lacking can be here: as its order is
// expected, or ordered today from where it is bought first; nil where one of them is
// neither ordered nor bought anywhere.
func ExpectedOn(ctx context.Context, q db.Querier, lacks []Need, today time.Time) (*time.Time, error) {
	items := make([]int64, len(lacks))
	for i, n := range lacks {
		items[i] = n.ItemID
	}
	sources, err := stock.Sources(ctx, q, items...)
	if err != nil {
		return nil, err
	}
	ordered, err := onOrder(ctx, q, items)
	if err != nil {
		return nil, err
	}
	var last time.Time
	for _, item := range items {
		day, known := ordered[item]
		at := slices.IndexFunc(sources, func(s stock.Source) bool { return s.ItemID == item })
		if !known && at >= 0 {
			day, known = stock.OrderDay(today, sources[at].OrderDays).AddDate(0, 0, sources[at].LeadDays), true
		}
		if !known {
			return nil, nil
		}
		if day.After(last) {
			last = day
		}
	}
	return &last, nil
}

// onOrder is the first day on which more of each item is expected.
func onOrder(ctx context.Context, q db.Querier, items []int64) (map[int64]time.Time, error) {
	rows, err := q.Query(ctx, `select l.item_id, min(greatest(s.expected_on, p.expected_on)) as day
		from purchase p join purchase_line l on l.purchase_id = p.id
		left join lateral (select sum(qty) as qty from move where purchase_line_id = l.id) m on true
		left join lateral (select sum(cancelled) as cancelled, (array_agg(expected_on order by id desc))[1] as expected_on
			from purchase_short where line_id = l.id) s on true
		where p.state in ('sent', 'part received') and l.item_id = any ($1) and l.qty > coalesce(m.qty, 0) + coalesce(s.cancelled, 0)
		group by l.item_id`, items)
	list, err := db.All[struct {
		ItemID int64
		Day    time.Time
	}](rows, err)
	if err != nil {
		return nil, fmt.Errorf("look for what is on order: %w", err)
	}
	days := map[int64]time.Time{}
	for _, o := range list {
		days[o.ItemID] = o.Day
	}
	return days, nil
}

// Wanted is what open jobs wait for of an item.
type Wanted struct {
	ItemID int64
	Qty    int64
	Jobs   int
}

// WantedByJobs lists what the work of open jobs waits for, by item.
func WantedByJobs(ctx context.Context, q db.Querier) ([]Wanted, error) {
	rows, err := q.Query(ctx, `select n.item_id, sum(n.qty - n.aside - n.used - n.unposted)::bigint as qty, count(distinct n.job_id)::int as jobs
		from need n join job j on j.id = n.job_id
		where j.closed_at is null and n.must and `+openSQL+` group by n.item_id order by n.item_id`)
	list, err := db.All[Wanted](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what jobs wait for: %w", err)
	}
	return list, nil
}

// Unposted is what a job used and the ledger had none of.
type Unposted struct {
	JobID   int64
	Number  int
	Item    string
	Code    string
	Measure stock.Measure
	Qty     int64
}

// AllUnposted lists what was used at the bench and is not in the ledger, the oldest
// ticket first.
func AllUnposted(ctx context.Context, q db.Querier) ([]Unposted, error) {
	rows, err := q.Query(ctx, `select n.job_id, j.number, i.name as item, i.code, i.measure, n.unposted as qty
		from need n join job j on j.id = n.job_id join item i on i.id = n.item_id where n.unposted > 0 order by j.number, i.code_key limit 100`)
	list, err := db.All[Unposted](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what is not in the ledger: %w", err)
	}
	return list, nil
}

// Ticket is an open job by its number.
type Ticket struct {
	JobID  int64
	Number int
}

// WaitingTickets are the jobs that Waiting lists, at most twenty.
func WaitingTickets(ctx context.Context, q db.Querier, items ...int64) ([]Ticket, error) {
	ids, err := Waiting(ctx, q, items...)
	if err != nil || len(ids) == 0 {
		return nil, err
	}
	rows, err := q.Query(ctx, `select j.id as job_id, j.number from unnest($1::bigint[]) with ordinality w (id, n) join job j on j.id = w.id order by w.n limit 20`, ids)
	list, err := db.All[Ticket](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read the tickets that wait: %w", err)
	}
	return list, nil
}
