package bench

import (
	"context"
	"fmt"

	"damperdesk/internal/db"
	"damperdesk/internal/job"
)

// Place is where a mechanic left off: a sheet that is open and the step it goes
// on at.
type Place struct {
	JobID  int64
	Number int
	Stage  string
	Steps  int
	Next   *Step // nil: nothing is left to sign
}

// Places finds where each mechanic left off, by their id: the open sheet they
// signed on last, else of those that are theirs the one promised first.
func Places(ctx context.Context, q db.Querier) (map[int64]Place, error) {
	jobs, err := lastSigned(ctx, q)
	if err != nil {
		return nil, fmt.Errorf("find where mechanics left off: %w", err)
	}
	open, err := OpenFor(ctx, q, nil)
	if err != nil {
		return nil, err
	}
	for _, row := range open {
		if row.MechanicID == nil {
			continue
		}
		if _, signed := jobs[*row.MechanicID]; !signed {
			jobs[*row.MechanicID] = row.ID
		}
	}
	places := map[int64]Place{}
	for mechanic, id := range jobs {
		sheet, err := Get(ctx, q, id)
		if err != nil {
			return nil, err
		}
		next, _ := sheet.Next()
		places[mechanic] = Place{JobID: id, Number: sheet.Job.Number, Stage: sheet.Job.Stage, Steps: len(sheet.Steps), Next: next}
	}
	return places, nil
}

// lastSigned is the open job that each mechanic signed on last.
func lastSigned(ctx context.Context, q db.Querier) (map[int64]int64, error) {
	rows, err := q.Query(ctx, `select distinct on (o.actor_id) o.actor_id, t.job_id
		from job j join sheet_step t on t.job_id = j.id join signoff o on o.step_id = t.id
		where j.stage in ($1, $2) and o.role = $3
		order by o.actor_id, o.id desc`, job.OnBench, job.FinalCheck, RoleDone)
	type row struct{ ActorID, JobID int64 }
	list, err := db.All[row](rows, err)
	jobs := map[int64]int64{}
	for _, r := range list {
		jobs[r.ActorID] = r.JobID
	}
	return jobs, err
}
