package bench

import (
	"context"
	"fmt"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
)

// Earlier is what a step of the same key read on an earlier job of the unit.
// One of ValueSI, Count and Grade at least says it.
type Earlier struct {
	Key       string
	JobID     int64
	At        time.Time
	ValueSI   *float64
	Count     *float64
	Grade     string
	ShownUnit quantity.Unit
}

// mostEarlier is how many of a step are shown.
const mostEarlier = 8

// EarlierAt lists what the steps read, counted or graded on earlier jobs of the
// sheet's unit, oldest first, the last eight of each by the step's key.
func EarlierAt(ctx context.Context, q db.Querier, s Sheet, steps []*Step) (map[string][]Earlier, error) {
	var keys []string
	for _, step := range steps {
		if step.Kind == procedure.Reading || step.Kind == procedure.Count || step.Kind == procedure.Check && len(step.Grades) > 0 {
			keys = append(keys, step.Key)
		}
	}
	if len(keys) == 0 {
		return nil, nil
	}
	rows, err := q.Query(ctx, `select key, job_id, at, value_si, count, grade, shown_unit from (
			select t.key, t.job_id, o.at, o.value_si, o.count, o.grade, o.shown_unit, o.id,
				row_number() over (partition by t.key order by o.id desc) as ago
			from job j join sheet_step t on t.job_id = j.id join signoff o on o.step_id = t.id
			where j.unit_id = $1 and j.number < $2 and t.key = any ($3) and o.role = 'done' and o.outcome = 'done'
				and (o.value_si is not null or o.count is not null or o.grade <> '')
				and not exists (select from cross_out x where x.signoff_id = o.id)) e
		where ago <= $4 order by id`, s.Job.UnitID, s.Job.Number, keys, mostEarlier)
	list, err := db.All[Earlier](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what was read earlier: %w", err)
	}
	byKey := map[string][]Earlier{}
	for _, e := range list {
		byKey[e.Key] = append(byKey[e.Key], e)
	}
	return byKey, nil
}
