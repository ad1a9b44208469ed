package bench

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/procedure"
)

// WaitTill is when a wait that has a length is over: counted from the last time
// somebody let it begin, else from the newest sign-off among the line before it
// and the lines of its block before it. ok is false for a step without a length
// and while the line before it is open: what is to stand is not done yet.
func (s Sheet) WaitTill(step *Step) (till time.Time, ok bool) {
	from := s.waitFrom(step)
	if step.Minutes == 0 || from.IsZero() {
		return time.Time{}, false
	}
	return from.Add(time.Duration(step.Minutes) * time.Minute), true
}

func (s Sheet) waitFrom(step *Step) (from time.Time) {
	if step.Begun != nil {
		return *step.Begun
	}
	for _, other := range s.Steps {
		last := other.Seq == step.Seq-1
		if last && other.Done == nil {
			return time.Time{}
		}
		before := last || other.Block == step.Block && other.Seq < step.Seq
		if before && other.Done != nil && other.Done.At.After(from) {
			from = other.Done.At
		}
	}
	return from
}

// Waiting is the first open wait that everything before is signed for, nil for
// none: what the unit stands for now.
func (s Sheet) Waiting() *Step {
	for i := range s.Steps {
		step := &s.Steps[i]
		if step.Done != nil {
			continue
		}
		if _, ok := s.WaitTill(step); ok && step.Kind == procedure.Wait {
			return step
		}
		return nil
	}
	return nil
}

// settleWait asks why a wait is signed before it is over, or without having
// begun; from paper or afterwards nobody knows when it began.
func (s Sheet) settleWait(step *Step, so *Signoff, reason string, now time.Time) error {
	till, ok := s.WaitTill(step)
	if step.Minutes == 0 || so.Outcome != OutcomeDone || so.How != HowSeen || ok && !now.Before(till) {
		return nil
	}
	if so.Reason = strings.TrimSpace(reason); so.Reason != "" {
		return nil
	}
	if !ok {
		return fault.Field("reason", "Nobody let this begin, and the step before it is open: press “It begins now”, or say why this is enough.")
	}
	left := int(math.Ceil(till.Sub(now).Minutes()))
	return fault.Field("reason", fmt.Sprintf("Of %s %s left: sign it when they are over, or say why this is enough.",
		minutes(step.Minutes), areLeft(left)))
}

func minutes(n int) string {
	if n == 1 {
		return "1 minute"
	}
	return fmt.Sprintf("%d minutes", n)
}

func areLeft(n int) string {
	if n == 1 {
		return "1 is"
	}
	return fmt.Sprintf("%d are", n)
}

// BeginWait lets an open wait count from now.
func BeginWait(ctx context.Context, tx pgx.Tx, by history.By, stepID int64) error {
	sheet, err := lockByStep(ctx, tx, by, stepID)
	if err != nil {
		return err
	}
	step := sheet.Find(stepID)
	switch {
	case step.Minutes == 0:
		return fault.Conflict("This step has no time to wait for.")
	case step.Done != nil || !open(sheet.Job.Stage):
		return fault.Conflict("This wait is over.")
	}
	if blocker := sheet.BlockedBy(step); blocker != nil {
		return fault.Conflict(fmt.Sprintf("Step %d, “%s”, comes first.", blocker.Seq, blocker.Title))
	}
	_, err = tx.Exec(ctx, "insert into wait_begun (step_id, actor_id, intent_id, at) values ($1, $2, $3, $4)", stepID, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("begin a wait: %w", err)
	}
	return history.Append(ctx, tx, by, sheet.event("wait begun", map[string]any{"step": stepID}))
}
