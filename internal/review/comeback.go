package review

import (
	"context"
	"fmt"
	"time"

	"damperdesk/internal/db"
)

// Comeback is a job whose unit was here again for the same complaint.
type Comeback struct {
	JobID    int64
	Number   int
	Unit     string
	CameAt   time.Time
	OfJob    int64 // what it was here with before
	OfNumber int
	By       string // who worked on that; empty: several did, or nobody
	Why      string // in words of the bench; empty: nobody has said
}

// comebacks are those that came in a period, the latest first.
func comebacks(ctx context.Context, q db.Querier, p Period) ([]Comeback, error) {
	rows, err := q.Query(ctx, `select j.id as job_id, j.number, coalesce(m.maker || ' ' || m.name, u.model_words) as unit,
			j.opened_at as came_at, b.id as of_job, b.number as of_number, coalesce(w.why_back, '') as why,
			coalesce((select min(s.name) from signoff o join sheet_step t on t.id = o.step_id join staff s on s.id = o.actor_id
				where t.job_id = b.id and o.role = 'done' having count(distinct s.id) = 1), '') as by
		from job j join job b on b.id = j.comeback_of join unit u on u.id = j.unit_id left join model m on m.id = u.model_id
			left join job_words w on w.job_id = j.id
		where j.opened_at >= $1 and j.opened_at < $2 order by j.id desc`, p.From, p.To)
	list, err := db.All[Comeback](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read comebacks: %w", err)
	}
	return list, nil
}
