package job

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
)

// VisitWithJobs is a visit with its jobs, by ticket number.
type VisitWithJobs struct {
	ID         int64
	CustomerID int64
	Customer   string
	Phone      string
	Mail       string
	PromisedAt time.Time
	BookedFor  *time.Time // nil: never booked
	Came       string
	GoesBack   string
	LimitMinor *int64 // nil: ask for everything
	Currency   string
	TermsID    int64 // 0: none
	TermsAt    *time.Time
	TermsBy    string
	LeftWith   string
	OpenedAt   time.Time
	OpenedBy   string
	Version    int

	Jobs []Job `db:"-"`
}

// Open counts the jobs that have not left the shop.
func (v VisitWithJobs) Open() int {
	n := 0
	for _, j := range v.Jobs {
		if j.ClosedAt == nil {
			n++
		}
	}
	return n
}

// Booked counts the jobs that are still to come in.
func (v VisitWithJobs) Booked() int {
	n := 0
	for _, j := range v.Jobs {
		if j.Stage == Booked {
			n++
		}
	}
	return n
}

// Visit reads a visit and its jobs.
func Visit(ctx context.Context, q db.Querier, id int64) (VisitWithJobs, error) {
	rows, err := q.Query(ctx, `select v.id, c.now_id as customer_id, c.name as customer, c.phone, c.mail, v.promised_at, v.booked_for, v.came, v.goes_back,
			v.limit_minor, v.currency, coalesce(v.terms_id, 0) as terms_id, t.at as terms_at,
			coalesce(w.terms_by, '') as terms_by, coalesce(w.left_with, '') as left_with,
			v.opened_at, coalesce(p.name, '') as opened_by, v.version
		from visit v join customer_now c on c.id = v.customer_id
		left join terms t on t.id = v.terms_id left join visit_words w on w.visit_id = v.id
		left join lateral (select s.actor_id from stage_change s join job j on j.id = s.job_id
			where j.visit_id = v.id and s.seq = 1 order by s.id limit 1) o on true
		left join staff p on p.id = o.actor_id
		where v.id = $1`, id)
	v, err := db.One[VisitWithJobs](rows, err, "visit")
	if err != nil {
		return v, fmt.Errorf("read visit: %w", err)
	}
	rows, err = q.Query(ctx, jobSQL+" where j.visit_id = $1 order by j.number", id)
	if v.Jobs, err = db.All[Job](rows, err); err != nil {
		return v, fmt.Errorf("read jobs of visit: %w", err)
	}
	return v, complete(ctx, q, v.Jobs)
}

// Any says whether a job was ever taken in.
func Any(ctx context.Context, q db.Querier) (some bool, err error) {
	if err = q.QueryRow(ctx, "select exists (select from job)").Scan(&some); err != nil {
		return false, fmt.Errorf("look for a job: %w", err)
	}
	return some, nil
}

// OpenCurrencies are those of the visits with a job that has not left the shop.
func OpenCurrencies(ctx context.Context, q db.Querier) ([]string, error) {
	rows, err := q.Query(ctx, `select distinct v.currency from visit v join job j on j.visit_id = v.id
		where j.closed_at is null order by 1`)
	if err != nil {
		return nil, fmt.Errorf("read currencies: %w", err)
	}
	list, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, fmt.Errorf("read currencies: %w", err)
	}
	return list, nil
}
