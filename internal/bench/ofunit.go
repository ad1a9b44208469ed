package bench

import (
	"context"
	"fmt"

	"damperdesk/internal/db"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
)

// SignedOfUnit reads the sheets of the jobs of a unit that ended done, by job:
// of each the steps that read, count or grade something and are signed, with no
// more of a sign-off than its outcome and its value, in the order of the sheet.
// It is one query, however often the unit was here.
func SignedOfUnit(ctx context.Context, q db.Querier, unitID int64) (map[int64]Sheet, error) {
	type row struct {
		JobID, ID                         int64
		Block, Key, Title, Place, SpecKey string
		Kind                              procedure.Kind
		Quantity                          quantity.Kind
		Grades                            []string
		ShownUnit, SignedUnit             quantity.Unit
		Outcome, Grade                    string
		ValueSI, Count                    *float64
	}
	rows, err := q.Query(ctx, `select s.job_id, s.id, s.block, s.key, s.title, s.place, s.spec_key, s.kind, s.quantity, s.grades,
			s.shown_unit, o.shown_unit as signed_unit, o.outcome, o.grade, o.value_si, o.count
		from job j join sheet_step s on s.job_id = j.id join signoff o on o.step_id = s.id and o.role = $2
		where j.unit_id = $1 and j.ending = 'done' and s.kind in ('reading', 'count', 'check')
			and (o.value_si is not null or o.count is not null or o.grade <> '' or o.outcome <> $3)
			and not exists (select from cross_out x where x.signoff_id = o.id)
			and coalesce((select asked from step_asked k where k.step_id = s.id order by k.id desc limit 1), true)
		order by s.job_id, s.rank`, unitID, RoleDone, OutcomeDone)
	list, err := db.All[row](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what was measured on unit %d: %w", unitID, err)
	}
	sheets := map[int64]Sheet{}
	for _, r := range list {
		sheet := sheets[r.JobID]
		sheet.Steps = append(sheet.Steps, Step{ID: r.ID, Block: r.Block, Key: r.Key, Title: r.Title, Place: r.Place, SpecKey: r.SpecKey, Kind: r.Kind,
			Quantity: r.Quantity, Grades: r.Grades, ShownUnit: r.ShownUnit,
			Done: &Signoff{StepID: r.ID, Role: RoleDone, Outcome: r.Outcome, Grade: r.Grade, ValueSI: r.ValueSI, Count: r.Count, ShownUnit: r.SignedUnit}})
		sheets[r.JobID] = sheet
	}
	return sheets, nil
}

// FoundOfUnit lists by job, oldest first, everything that was found on a unit and
// not withdrawn.
func FoundOfUnit(ctx context.Context, q db.Querier, unitID int64) (map[int64][]Finding, error) {
	rows, err := q.Query(ctx, findingSQL+"where j.unit_id = $1 and coalesce(w.kind, '') <> $2 order by f.id", unitID, Withdrawn)
	list, err := db.All[UnitFinding](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read findings of unit %d: %w", unitID, err)
	}
	found := map[int64][]Finding{}
	for _, f := range list {
		found[f.JobID] = append(found[f.JobID], f.Finding)
	}
	return found, nil
}

// FromList is what a finding says in words of our own lists alone: that of the
// grade that made it, such as "Bushing play: knocks"; empty where somebody typed
// its words.
func (f Finding) FromList() string {
	for grade, bad := range badGrades {
		for _, side := range []string{"", ", rider’s left", ", rider’s right"} {
			if f.Words == bad.part+side+": "+grade {
				return f.Words
			}
		}
	}
	return ""
}
