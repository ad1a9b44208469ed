package bench

import (
	"context"
	"fmt"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/quantity"
)

// Use is a sign-off that was made with a torque tool.
type Use struct {
	JobID     int64
	JobNumber int
	StepID    int64
	Step      string // its title
	ValueSI   *float64
	ShownUnit quantity.Unit
	InWindow  bool
	Crossed   bool // out
	Actor     string
	At        time.Time
}

// UsesOf lists at most most sign-offs made with a tool, newest first.
func UsesOf(ctx context.Context, q db.Querier, toolID int64, most int) ([]Use, error) {
	rows, err := q.Query(ctx, `select j.id as job_id, j.number as job_number, st.id as step_id, st.title as step, s.value_si, s.shown_unit,
			s.in_window, exists (select from cross_out c where c.signoff_id = s.id) as crossed, a.name as actor, s.at
		from signoff s join sheet_step st on st.id = s.step_id join job j on j.id = st.job_id join staff a on a.id = s.actor_id
		where s.tool_id = $1 order by s.id desc limit $2`, toolID, most)
	list, err := db.All[Use](rows, err)
	if err != nil {
		return nil, fmt.Errorf("uses of tool %d: %w", toolID, err)
	}
	return list, nil
}

// UsedOn is a job with what a torque tool tightened on it.
type UsedOn struct {
	JobID      int64
	Number     int
	CustomerID int64
	Customer   string
	Unit       string
	Stage      string
	Steps      []string // their titles, in the order of the sheet
	Last       time.Time
}

// JobsOf lists every job on which something was signed with a tool between two
// instants and is not crossed out, those still here first, then by the newest
// sign-off: whom to ask back when the tool is found out.
func JobsOf(ctx context.Context, q db.Querier, toolID int64, from, till time.Time) ([]UsedOn, error) {
	rows, err := q.Query(ctx, `select j.id as job_id, j.number, c.now_id as customer_id, c.name as customer,
			coalesce(m.maker || ' ' || m.name, u.model_words) as unit, j.stage,
			array_agg(st.title order by st.rank) as steps, max(s.at) as last
		from signoff s join sheet_step st on st.id = s.step_id join job j on j.id = st.job_id
		join visit v on v.id = j.visit_id join customer_now c on c.id = v.customer_id
		join unit u on u.id = j.unit_id left join model m on m.id = u.model_id
		where s.tool_id = $1 and s.at between $2 and $3 and not exists (select from cross_out x where x.signoff_id = s.id)
		group by j.id, c.now_id, c.name, m.maker, m.name, u.model_words
		order by j.closed_at is not null, max(s.at) desc`, toolID, from, till)
	list, err := db.All[UsedOn](rows, err)
	if err != nil {
		return nil, fmt.Errorf("jobs of tool %d: %w", toolID, err)
	}
	return list, nil
}
