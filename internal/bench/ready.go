package bench

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// The steps that hand the job over to the customer.
const (
	keyPressureIn  = "A4"
	keyPressureOut = "V2"
	keyAdjusterIn  = "A5."
	keyAdjusterOut = "V3."
	keyNote        = "V9" // rider's note and verdict
)

// Unready lists what keeps the job from being ready for pickup, in the order
// of the sheet; the rider's note and the holds come last. Empty means ready.
func (s Sheet) Unready() []string {
	var list []string
	if len(s.Steps) == 0 {
		list = append(list, "No work has been started.")
	}
	for _, step := range s.Steps {
		switch {
		case step.Done == nil:
			list = append(list, fmt.Sprintf("Step %d is not signed: %s.", step.Seq, step.Title))
		case !step.Live():
			list = append(list, fmt.Sprintf("Step %d waits for its second check: %s.", step.Seq, step.Title))
		case step.Key == keyNote && len(step.Grades) > 0 && step.Done.Grade == "":
			list = append(list, "Say whether it is safe to ride.")
		}
	}
	for _, set := range s.Settings() {
		if !set.Settled() {
			list = append(list, "Set and sign "+strings.ToLower(set.Name)+" as returned.")
		}
	}
	if strings.TrimSpace(s.Job.RiderNote) == "" {
		list = append(list, "Write the rider’s note.")
	}
	for _, hold := range s.Job.Holds {
		list = append(list, "The job is "+hold.Kind+".")
	}
	return list
}

// MakeReady moves the job to ready for pickup when nothing is left to do.
func MakeReady(ctx context.Context, tx pgx.Tx, by history.By, jobID int64) error {
	sheet, err := lockSheet(ctx, tx, by, jobID)
	if err != nil {
		return err
	}
	return sheet.makeReady(ctx, tx, by)
}

func (s Sheet) makeReady(ctx context.Context, tx pgx.Tx, by history.By) error {
	if s.Job.Stage != job.FinalCheck {
		return fault.Conflict("Only a job in its final check becomes ready for pickup; this one is " + s.Job.Stage + ".")
	}
	if list := s.Unready(); len(list) > 0 {
		return fault.Conflict(strings.Join(list, " "))
	}
	if err := job.Move(ctx, tx, by, s.Job.ID, job.Ready, ""); err != nil {
		return fmt.Errorf("make ready: %w", err)
	}
	return nil
}

// Reopen takes a job that was ready back to its final check, so that its
// sign-offs can be crossed out again.
func Reopen(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, reason string) error {
	sheet, err := lockSheet(ctx, tx, by, jobID)
	if err != nil {
		return err
	}
	switch {
	case sheet.Job.Stage != job.Ready:
		return fault.Conflict("Only a job that is ready for pickup goes back to its final check.")
	case strings.TrimSpace(reason) == "":
		return fault.Field("reason", "Say why it goes back.")
	}
	if err := job.Move(ctx, tx, by, jobID, job.FinalCheck, reason); err != nil {
		return fmt.Errorf("reopen: %w", err)
	}
	return nil
}
