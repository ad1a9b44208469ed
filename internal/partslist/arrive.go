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
	rows, err := q.Query(ctx, `select j.id from job j join visit v on v.id = j.visit_id
		where j.closed_at is null and j.id in (select job_id from need where item_id = any ($1) and choice = 'new' and aside + used + unposted < qty)
		order by v.promised_at, j.id`, items)
	list, err := db.All[struct{ ID int64 }](rows, err)
	if err != nil {
		return nil, fmt.Errorf("look for jobs that wait for parts: %w", err)
	}
	ids := make([]int64, len(list))
	for i, j := range list {
		ids[i] = j.ID
	}
	return ids, nil
}

// Arrived sets aside for the jobs, in their order, what is free of the items they
// want, and gives back those that lack nothing any more. Their rows are held.
func Arrived(ctx context.Context, tx pgx.Tx, jobs []int64) (whole []int64, err error) {
	needs, err := OfJobs(ctx, tx, jobs...)
	if err != nil {
		return nil, err
	}
	s, err := lockAll(ctx, tx, needs)
	if err != nil {
		return nil, err
	}
	for _, job := range jobs {
		lacks, err := fill(ctx, tx, s, job)
		if err != nil {
			return nil, err
		}
		if len(lacks) == 0 {
			whole = append(whole, job)
		}
	}
	return whole, nil
}

// ExpectedOn is the day by which all of what is lacking can be here, ordered today
// from where it is bought first; nil where one of them is bought nowhere.
func ExpectedOn(ctx context.Context, q db.Querier, lacks []Need, today time.Time) (*time.Time, error) {
	items := make([]int64, len(lacks))
	for i, n := range lacks {
		items[i] = n.ItemID
	}
	sources, err := stock.Sources(ctx, q, items...)
	if err != nil {
		return nil, err
	}
	var last time.Time
	for _, item := range items {
		at := slices.IndexFunc(sources, func(s stock.Source) bool { return s.ItemID == item })
		if at < 0 {
			return nil, nil
		}
		if day := today.AddDate(0, 0, sources[at].LeadDays); day.After(last) {
			last = day
		}
	}
	return &last, nil
}
