package bench

import (
	"math"
	"slices"
	"strings"
	"time"

	"damperdesk/internal/procedure"
)

// Expected is the value a step's field begins at, in SI, a count as its own
// number: for a setting that goes back the one it came with, else the value of
// the sheet.
func (s Sheet) Expected(step *Step) (si float64, ok bool) {
	for _, set := range s.Settings() {
		if set.Step != step.Key || set.Received == nil {
			continue
		}
		switch in := set.Received; {
		case in.ValueSI != nil && *in.ValueSI > 0:
			return *in.ValueSI, true
		case in.Count != nil:
			return *in.Count, true
		}
	}
	if step.NominalSI == nil {
		return 0, false
	}
	return *step.NominalSI, true
}

// Together lists the open lines that may be signed with one press with this
// one, itself among them, in the order of the sheet.
func (s Sheet) Together(step *Step) []*Step {
	list := []*Step{}
	for i := range s.Steps {
		other := &s.Steps[i]
		shares := step.Group != "" && other.Group == step.Group && other.Done == nil && other.Simple()
		if other == step || shares && s.BlockedBy(other) == nil {
			list = append(list, other)
		}
	}
	if len(list) > MostTogether {
		return []*Step{step}
	}
	return list
}

// Twin is the step for the same thing on the other side, nil when it has none:
// left and right share a screen, with a press each.
func (s Sheet) Twin(step *Step) *Step {
	other := strings.NewReplacer("-left", "-right", "-right", "-left").Replace(step.Place)
	if other == step.Place || step.SpecKey == "" || strings.Contains(step.Place, " ") {
		return nil
	}
	for i := range s.Steps {
		twin := &s.Steps[i]
		if twin.Block == step.Block && twin.Kind == step.Kind && twin.SpecKey == step.SpecKey && twin.Place == other {
			return twin
		}
	}
	return nil
}

// JustSet is what the other side was tightened with, to begin this one with:
// nil where it is not signed, or outside its window.
func (s Sheet) JustSet(step *Step) *Signoff {
	if twin := s.Twin(step); twin != nil && step.Kind == procedure.Torque && twin.Done != nil && twin.Done.ValueSI != nil && twin.Done.InWindow {
		return twin.Done
	}
	return nil
}

// FluidFor is the fluid a volume step begins with: what the sheet names, or
// what just went into the other side in place of the same one.
func (s Sheet) FluidFor(step *Step) string {
	twin := s.Twin(step)
	if twin == nil || twin.Done == nil || twin.Done.Fluid == "" || twin.Fluid != step.Fluid {
		return step.Fluid
	}
	return twin.Done.Fluid
}

// longestStep is how long a step is taken to last at most; a longer gap between
// two sign-offs is a pause.
const longestStep = 20 * time.Minute

// AboutMinutes guesses the minutes at the bench, to five, from the times the
// sheet was signed at; 0 where they say nothing. It is offered as a question.
func (s Sheet) AboutMinutes() int {
	var times []time.Time
	for _, step := range s.Steps {
		if step.Done != nil {
			times = append(times, step.Done.At)
		}
	}
	slices.SortFunc(times, time.Time.Compare)
	var sum time.Duration
	for i := 1; i < len(times); i++ {
		if gap := times[i].Sub(times[i-1]); gap <= longestStep {
			sum += gap
		}
	}
	return int(math.Round(sum.Minutes()/5)) * 5
}

// Loose lists the torques that are not signed on a sheet that is begun and not
// all signed: what must not leave as it is.
func (s Sheet) Loose() []Step {
	if s.Signed() == 0 {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(s.Steps), func(step Step) bool {
		return step.Kind != procedure.Torque || step.Live()
	})
}
