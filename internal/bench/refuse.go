package bench

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
)

// MostTogether is how many lines one press may sign.
const MostTogether = 6

// open reports whether the work may be signed or crossed out in that stage.
func open(stage string) bool { return stage == job.OnBench || stage == job.FinalCheck }

// mechanicOnly refuses everybody who does not work at the bench.
func mechanicOnly(by history.By) error {
	if !by.Has("mechanic") {
		return fault.Forbidden("Only a mechanic works on a bench sheet.")
	}
	return nil
}

// refuse says why the step may not be signed in that role now; nil when it may.
func (s Sheet) refuse(step *Step, role string, now time.Time, zone *time.Location) error {
	live, verb := step.Done, "Signed"
	if role == RoleChecked {
		live, verb = step.Checked, "Checked"
	}
	switch blocker := s.BlockedBy(step); {
	case !open(s.Job.Stage):
		return fault.Conflict(fmt.Sprintf("This job is %s; nothing is signed on it now.", s.Job.Stage))
	case live != nil:
		return fault.Conflict(fmt.Sprintf("%s by %s %s.", verb, live.Actor, clock(live.At, now, zone)))
	case role == RoleChecked && !step.SecondCheck:
		return fault.Conflict("This step has no second check.")
	case role == RoleChecked && step.Done == nil:
		return fault.Conflict("The step has to be done before somebody checks it.")
	case blocker != nil && blocker.StopHere:
		return fault.Conflict(fmt.Sprintf("Stop here: step %d, “%s”, comes first.", blocker.Seq, blocker.Title))
	case blocker != nil:
		return fault.Conflict(fmt.Sprintf("The final check begins when all before it is signed; step %d is open.", blocker.Seq))
	}
	return nil
}

// refuseNot says why a stop-here may not be signed as one that does not apply:
// of the ways to take the load off that were asked because nobody knew which,
// such as air and preload, one has to be done.
func (s Sheet) refuseNot(step *Step) error {
	var not *Step
	for i := range s.Steps {
		other := &s.Steps[i]
		if other.ID == step.ID || other.Block != step.Block || !other.StopHere || other.number() != step.number() {
			continue
		}
		if other.Done == nil || other.Done.Outcome != OutcomeNot {
			return nil
		}
		not = other
	}
	if not == nil || !step.StopHere {
		return nil
	}
	return fault.Conflict(fmt.Sprintf("Step %d is signed as one that does not apply; of the two, one has to be done.", not.Seq))
}

// number is the step's number within its block.
func (s Step) number() int { return procedure.Step{Block: s.Block, Key: s.Key}.Number() }

// settleCheck makes the second check of what was done, by another person or,
// where nobody else is there, by the same one, marked and with a reason.
func (s Step) settleCheck(g Signing, by history.By) (Signoff, error) {
	same := s.Done.ActorID == by.Staff
	so := Signoff{
		StepID: s.ID, Role: RoleChecked, Outcome: OutcomeDone, How: unmeasured(g.How),
		Reason: strings.TrimSpace(g.Reason), InWindow: true, Alone: same && g.Alone,
	}
	switch {
	case same && !g.Alone:
		return so, fault.Conflict("The second check is for another person than " + s.Done.Actor + ".")
	case so.Alone && so.Reason == "":
		return so, fault.Field("reason", "Say why nobody else could check it.")
	}
	return so, nil
}

// refuseTogether says why these lines may not share one press.
func refuseTogether(steps []*Step) error {
	if len(steps) > MostTogether {
		return fault.Conflict(fmt.Sprintf("At most %d lines are signed together.", MostTogether))
	}
	for _, step := range steps {
		switch {
		case !step.Simple():
			return fault.Conflict(fmt.Sprintf("Step %d is signed on its own: a torque, a volume, a stop-here and a second check never share a press.", step.Seq))
		case step.Block != steps[0].Block:
			return fault.Conflict("Lines signed together belong to one block.")
		}
	}
	return nil
}

// Line is the name of a field of a step among others that are signed together.
func Line(stepID int64, field string) string { return fmt.Sprintf("line%d.%s", stepID, field) }

// line gathers what is wrong with the fields of a line; any other refusal comes
// back, naming its step.
func (f fields) line(step *Step, err error) error {
	var (
		invalid  *fault.Invalid
		conflict fault.Conflict
	)
	switch {
	case errors.As(err, &invalid):
		for name, sentence := range invalid.Fields {
			f[Line(step.ID, name)] = sentence
		}
		return nil
	case errors.As(err, &conflict):
		return fault.Conflict(fmt.Sprintf("Step %d: %s", step.Seq, conflict))
	}
	return err
}

// clock says when something was, with its day if that is not today.
func clock(at, now time.Time, zone *time.Location) string {
	at, now = at.In(zone), now.In(zone)
	if at.Format(time.DateOnly) == now.Format(time.DateOnly) {
		return at.Format("at 15:04")
	}
	return at.Format("on 2 January at 15:04")
}
