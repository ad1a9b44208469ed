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

// UsesOf lists at most most sign-offs made with a tool, newest first, and
// counts how many of all that are not crossed out were made from an instant on.
func UsesOf(ctx context.Context, q db.Querier, toolID int64, from time.Time, most int) (list []Use, since int, err error) {
	rows, err := q.Query(ctx, `select j.id as job_id, j.number as job_number, st.id as step_id, st.title as step, s.value_si, s.shown_unit,
			s.in_window, exists (select from cross_out c where c.signoff_id = s.id) as crossed, a.name as actor, s.at
		from signoff s join sheet_step st on st.id = s.step_id join job j on j.id = st.job_id join staff a on a.id = s.actor_id
		where s.tool_id = $1 order by s.id desc limit $2`, toolID, most)
	if list, err = db.All[Use](rows, err); err != nil {
		return nil, 0, fmt.Errorf("uses of tool %d: %w", toolID, err)
	}
	err = q.QueryRow(ctx, `select count(*) from signoff s where s.tool_id = $1 and s.at >= $2
		and not exists (select from cross_out c where c.signoff_id = s.id)`, toolID, from).Scan(&since)
	if err != nil {
		return nil, 0, fmt.Errorf("uses of tool %d: %w", toolID, err)
	}
	return list, since, nil
}
