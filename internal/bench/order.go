package bench

// BlockedBy returns the earliest step that has to be signed before this one:
// an open stop-here, or for a step of the final check anything open before the
// final check. Nil means the step may be signed now.
func (s Sheet) BlockedBy(step *Step) *Step {
	prove := s.proveFrom()
	for i := range s.Steps {
		before := &s.Steps[i]
		if before.Seq >= step.Seq {
			break
		}
		proved := step.Block == blockProve && before.Seq < prove
		if !before.Live() && (before.StopHere || proved) {
			return before
		}
	}
	return nil
}

// Next returns the step to sign next and the role to sign it in; nil when
// nothing is left. A second check that holds nothing up comes last.
func (s Sheet) Next() (*Step, string) {
	var open *Step
	for i := range s.Steps {
		step := &s.Steps[i]
		if step.Done == nil {
			if blocker := s.BlockedBy(step); blocker != nil {
				return blocker, blocker.openRole()
			}
			return step, RoleDone
		}
		if open == nil && !step.Live() {
			open = step
		}
	}
	if open == nil {
		return nil, ""
	}
	return open, RoleChecked
}

// After is what to go on with behind the step of that seq: the next open step
// that may be signed now, else Next, which comes back to what was left.
func (s Sheet) After(seq int) *Step {
	for i := range s.Steps {
		step := &s.Steps[i]
		if step.Seq > seq && step.Done == nil && s.BlockedBy(step) == nil {
			return step
		}
	}
	next, _ := s.Next()
	return next
}

func (s Step) openRole() string {
	if s.Done == nil {
		return RoleDone
	}
	return RoleChecked
}

// proveFrom is the seq of the first step of the final check; past the last
// step when there is none.
func (s Sheet) proveFrom() int {
	last := 0
	for _, step := range s.Steps {
		if step.Block == blockProve {
			return step.Seq
		}
		last = step.Seq
	}
	return last + 1
}

// Proving reports whether the work is in its final check: everything before
// it is live and something of it is signed.
func (s Sheet) Proving() bool {
	prove, begun := s.proveFrom(), false
	for _, step := range s.Steps {
		if step.Seq < prove && !step.Live() {
			return false
		}
		begun = begun || step.Block == blockProve && step.Done != nil
	}
	return begun
}

// rechecked names, for a torque or closing of the refit, the step in which a
// second person looks at it again: common practice (no source).
var rechecked = map[string]string{
	"R5": "R9.stem", "R5.crowns": "R9.crowns", "R6": "R9.brake", "R7": "R9.axle", "R7.lever": "R9.axle", "R7.pinch": "R9.axle",
	"K16": "K17",
}

// Undone returns the live sign-offs that crossing out this one takes with it,
// itself first: the second check of what was done, on its own step or on one
// that looks at it again, and for a stop-here everything live after it. Nil
// when it is not live.
func (s Sheet) Undone(signoffID int64) []Signoff {
	for _, step := range s.Steps {
		for _, live := range step.live() {
			if live.ID == signoffID {
				return s.undone(step, live)
			}
		}
	}
	return nil
}

func (s Sheet) undone(step Step, out Signoff) []Signoff {
	list := []Signoff{out}
	if out.Role == RoleDone && step.Checked != nil {
		list = append(list, *step.Checked)
	}
	if again := s.ByKey(rechecked[step.Key]); again != nil {
		list = append(list, again.live()...)
	}
	if !step.StopHere {
		return list
	}
	for _, later := range s.Steps {
		if later.Seq > step.Seq {
			list = append(list, later.live()...)
		}
	}
	return list
}

func (s Step) live() []Signoff {
	var list []Signoff
	for _, so := range []*Signoff{s.Done, s.Checked} {
		if so != nil {
			list = append(list, *so)
		}
	}
	return list
}
