package bench

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Checking is a second check of steps of one sheet: each was looked at by
// itself. Alone and the reason count for those that the person did too.
type Checking struct {
	Steps  []int64
	Alone  bool
	Reason string
}

// Unchecked lists the steps that are done and wait for their second check.
func (s Sheet) Unchecked() []*Step {
	var list []*Step
	for i := range s.Steps {
		if step := &s.Steps[i]; step.Done != nil && !step.Live() {
			list = append(list, step)
		}
	}
	return list
}

// Check stores a second check of each step, all or none, by the person of by.
func Check(ctx context.Context, tx pgx.Tx, by history.By, zone *time.Location, jobID int64, c Checking) error {
	if len(c.Steps) == 0 {
		return fault.Conflict("Nothing is ticked yet: tick each item that was looked at.")
	}
	held, err := Hold(ctx, tx, by, jobID)
	if err != nil {
		return err
	}
	for _, id := range c.Steps {
		if err := held.Sign(ctx, tx, by, zone, Signing{StepID: id, Role: RoleChecked, Alone: c.Alone, Reason: c.Reason}); err != nil {
			return err
		}
	}
	return nil
}

// lookAgainAfter is how long somebody who is alone waits with a second check
// of their own work when there is no other work: common practice (no source).
const lookAgainAfter = 10 * time.Minute

// mayLookAgain reports whether somebody may check alone what they did: after
// other work, or once they have waited. Work is another step, on any sheet, that
// they did and did not cross out.
func mayLookAgain(done, now time.Time, worked bool) bool {
	return worked || !now.Before(done.Add(lookAgainAfter))
}

// refuseEarly refuses a second check alone right after the step was done.
func refuseEarly(ctx context.Context, tx pgx.Tx, by history.By, zone *time.Location, step *Step) error {
	var worked bool
	err := tx.QueryRow(ctx, `select exists (select from signoff s
		where actor_id = $1 and role = $2 and outcome = $3 and id > $4 and step_id <> $5
			and not exists (select from cross_out x where x.signoff_id = s.id))`,
		by.Staff, RoleDone, OutcomeDone, step.Done.ID, step.ID).Scan(&worked)
	if err != nil {
		return fmt.Errorf("look for work since: %w", err)
	}
	if mayLookAgain(step.Done.At, by.At, worked) {
		return nil
	}
	return fault.Field("alone", fmt.Sprintf("Step %d was done only just now: do other work first, or look again %s.",
		step.Seq, clock(step.Done.At.Add(lookAgainAfter), by.At, zone)))
}
