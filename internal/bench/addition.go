package bench

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
)

// Addition is what a service changes on the sheet of a job that is worked on.
type Addition struct {
	Service string           // its name
	Steps   []procedure.Step // that the sheet lacks, in their order
	Undone  []Signoff        // crossed out and asked again, in the order of the sheet
	filled  []filled
}

// UndoneIDs are the ids of the sign-offs that are undone, in the order of the
// sheet.
func (a Addition) UndoneIDs() []int64 {
	ids := make([]int64, len(a.Undone))
	for i, so := range a.Undone {
		ids[i] = so.ID
	}
	return ids
}

// Preview says what adding a service to the job of a sheet would change;
// nothing but the service itself before work has started. It fails as AddService would.
func Preview(ctx context.Context, q db.Querier, by history.By, s Sheet, code string) (Addition, error) {
	if err := s.servicesStay(); err != nil {
		return Addition{}, err
	}
	name, err := job.CheckService(ctx, q, s.Job, code)
	if err != nil {
		return Addition{}, err
	}
	a := Addition{Service: name}
	switch {
	case len(s.Steps) == 0:
		return a, nil
	case !by.Has("mechanic"):
		return a, fault.Forbidden("Work has started: a service is added by a mechanic now, because what is signed may have to be done again.")
	}
	j := s.Job
	j.Services = append(j.Services[:len(j.Services):len(j.Services)], code)
	merged, err := prepare(ctx, q, j)
	if err != nil {
		return a, err
	}
	had, err := prepare(ctx, q, s.Job)
	if err != nil {
		return a, err
	}
	if a.filled = slices.DeleteFunc(s.lacking(merged), among(had)); len(a.filled) == 0 {
		return a, fault.Field("service", fmt.Sprintf("All that “%s” asks for is on the sheet already.", name))
	}
	for i := range a.filled {
		a.filled[i].addedFor = code
		a.Steps = append(a.Steps, a.filled[i].Step)
	}
	a.Undone = s.UndoneBy(a.Steps)
	return a, nil
}

// among reports of a step whether the job would have it without the service: one
// that came into a block since the work began is none of its sheet.
func among(had []filled) func(filled) bool {
	return func(f filled) bool {
		return slices.ContainsFunc(had, func(h filled) bool { return h.Key == f.Key })
	}
}

// AddService adds a service to a job. Once work has started its steps come on
// the sheet, filled from the spec sheet in force now, or asked again as they
// were where the service had been taken off, without touching a line that is
// there; what they undo is crossed out, and a job in its final check
// goes back on the bench. Nothing else that was signed after an undone
// stop-here goes with it: the fork was as that stop-here says when it was done.
// told are the ids of the sign-offs that the person knows will be undone; others
// are a Conflict.
func AddService(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, code string, told []int64) error {
	if _, err := tx.Exec(ctx, "select from job where id = $1 for no key update", jobID); err != nil {
		return db.Translate(err)
	}
	sheet, err := Get(ctx, tx, jobID)
	if err != nil {
		return err
	}
	a, err := Preview(ctx, tx, by, sheet, code)
	if err != nil {
		return err
	}
	if !slices.Equal(a.UndoneIDs(), told) {
		return fault.Conflict("The sheet was signed meanwhile, and other sign-offs are undone now: look again at what changes.")
	}
	if err := job.AddService(ctx, tx, by, jobID, code); err != nil {
		return fmt.Errorf("add service: %w", err)
	}
	if err := insertSteps(ctx, tx, by, jobID, a.filled); err != nil {
		return fmt.Errorf("add service: %w", db.Translate(err))
	}
	reason := a.Service + " was added; this has to be done again."
	for _, so := range a.Undone {
		if err := sheet.crossOut(ctx, tx, by, so, reason, code); err != nil {
			return err
		}
	}
	if len(a.filled) > 0 {
		if err := setAside(ctx, tx, by, jobID); err != nil {
			return err
		}
	}
	return backOnBench(ctx, tx, by, jobID, a.Service+" was added.")
}

// backOnBench takes a job out of a final check that is no longer at hand.
func backOnBench(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, reason string) error {
	sheet, err := Get(ctx, tx, jobID)
	if err != nil || sheet.Job.Stage != job.FinalCheck || sheet.Proving() {
		return err
	}
	if err := job.Move(ctx, tx, by, jobID, job.OnBench, reason); err != nil {
		return fmt.Errorf("back on the bench: %w", err)
	}
	return nil
}
