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
)

// Removal is what taking a service off changes on the sheet of its job.
type Removal struct {
	Service string // its name
	Steps   []Step // that it alone brings, no longer asked
	// Again are the steps that were signed, were crossed out when the service
	// was added, and stay to be signed again.
	Again []Step
}

// StepIDs are the ids of the steps that are no longer asked.
func (r Removal) StepIDs() []int64 {
	ids := make([]int64, len(r.Steps))
	for i, step := range r.Steps {
		ids[i] = step.ID
	}
	return ids
}

// PreviewTakeOff says what taking a service off the job of a sheet would change.
// It fails as TakeOffService would, but for the reason.
func PreviewTakeOff(ctx context.Context, q db.Querier, by history.By, s Sheet, code string) (Removal, error) {
	if err := s.servicesStay(); err != nil {
		return Removal{}, err
	}
	name, err := job.CheckTakeOff(ctx, q, s.Job, code)
	r := Removal{Service: name}
	switch {
	case err != nil || len(s.Steps) == 0:
		return r, err
	case !by.Has("mechanic"):
		return r, fault.Forbidden("Work has started: a service is taken off by a mechanic now, who knows what has been done of it.")
	}
	alone, err := s.broughtAlone(ctx, q, code)
	if err != nil {
		return r, err
	}
	for _, step := range s.Steps {
		switch {
		case alone[step.Key] && s.touched(step):
			return r, fault.Conflict(fmt.Sprintf("“%s” stays: its step %d, “%s”, was signed or something was found there, so that work on it has begun.",
				name, step.Seq, step.Title))
		case alone[step.Key]:
			r.Steps = append(r.Steps, step)
		case step.Done == nil && slices.ContainsFunc(step.Crossed, func(c Crossed) bool { return c.AddedService == code }):
			r.Again = append(r.Again, step)
		}
	}
	return r, nil
}

// broughtAlone is the keys of the steps that the job would not have without a
// service.
func (s Sheet) broughtAlone(ctx context.Context, q db.Querier, code string) (map[string]bool, error) {
	with, err := prepare(ctx, q, s.Job)
	if err != nil {
		return nil, err
	}
	rest := s.Job
	rest.Services = slices.DeleteFunc(slices.Clone(rest.Services), func(c string) bool { return c == code })
	without, err := prepare(ctx, q, rest)
	if err != nil {
		return nil, err
	}
	alone := map[string]bool{}
	for _, f := range with {
		alone[f.Key] = true
	}
	for _, f := range without {
		delete(alone, f.Key)
	}
	return alone, nil
}

// touched is whether anything was ever signed or found at a step. What was
// crossed out counts: something may have been opened that no other step closes.
func (s Sheet) touched(step Step) bool {
	return step.Done != nil || step.Checked != nil || len(step.Crossed) > 0 || len(s.FoundAt(step.ID)) > 0
}

// servicesStay refuses to change the services of a job that has been finished.
func (s Sheet) servicesStay() error {
	switch {
	case s.Job.Stage == job.Ready:
		return fault.Conflict("This job is ready for pickup; take it back to its final check first.")
	case s.Job.ClosedAt != nil:
		return fault.Conflict("This job is " + s.Job.Stage + "; its sheet stays as it is.")
	}
	return nil
}

// TakeOffService takes a service off a job, for a reason, while nothing that it
// alone brought has been signed. Its steps stay as rows and are no longer asked;
// what its adding crossed out stays to be signed again. told are the ids of the
// steps that the person knows will go; others are a Conflict.
func TakeOffService(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, code, reason string, told []int64) error {
	if _, err := tx.Exec(ctx, "select from job where id = $1 for no key update", jobID); err != nil {
		return db.Translate(err)
	}
	sheet, err := Get(ctx, tx, jobID)
	if err != nil {
		return err
	}
	r, err := PreviewTakeOff(ctx, tx, by, sheet, code)
	if err != nil {
		return err
	}
	if !slices.Equal(r.StepIDs(), told) {
		return fault.Conflict("The sheet changed meanwhile, and other steps would go: look again at what changes.")
	}
	if err := job.TakeOffService(ctx, tx, by, jobID, code, reason); err != nil {
		return fmt.Errorf("take off service: %w", err)
	}
	batch := &pgx.Batch{}
	for _, step := range r.Steps {
		queueAsked(batch, by, step.ID, false, code)
	}
	if err := tx.SendBatch(ctx, batch).Close(); err != nil {
		return fmt.Errorf("take off service: %w", db.Translate(err))
	}
	if len(r.Steps) > 0 {
		if err := setAside(ctx, tx, by, jobID); err != nil {
			return err
		}
	}
	if sheet, err = Get(ctx, tx, jobID); err != nil {
		return err
	}
	return sheet.proved(ctx, tx, by)
}

// queueAsked writes whether a step is asked from now on.
func queueAsked(batch *pgx.Batch, by history.By, stepID int64, asked bool, code string) {
	batch.Queue(`insert into step_asked (step_id, asked, service_code, actor_id, intent_id, at)
		values ($1, $2, $3, nullif($4, 0), $5, $6)`, stepID, asked, code, by.Staff, by.Intent, by.At)
}
