package templates

import (
	"fmt"
	"slices"

	"damperdesk/internal/bench"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
)

// AddServicePage asks which service to add to a job and, once one is chosen,
// says what that changes.
type AddServicePage struct {
	Base
	Sheet  bench.Sheet
	Offers []procedure.Service // that the job has not
	Chosen string              // the code; empty: none that can be added
	Adds   bench.Addition      // of the chosen one
}

func addServicePath(jobID int64) string { return jobPath(jobID) + "/services" }

// mayAddService says whether whoever looks may add a service to the job now:
// anybody before work has started, then whoever works at the bench.
func mayAddService(b Base, j job.Job, offers []procedure.Service) bool {
	started := j.Stage == job.OnBench || j.Stage == job.FinalCheck
	return len(offers) > 0 && j.ClosedAt == nil && j.Stage != job.Ready && (!started || b.Person.Has("mechanic"))
}

func serviceOptions(offers []procedure.Service, chosen string) []Option {
	var options []Option
	for _, s := range offers {
		options = append(options, Option{Value: s.Code, Label: s.Name, Chosen: s.Code == chosen})
	}
	return options
}

// brings says what comes on the sheet: "11 steps are added, the first of them
// step 24, “No air left”."
func (p AddServicePage) brings() string {
	n := len(p.Adds.Steps)
	switch n {
	case 0:
		return "Work has not started: its steps come on the sheet when it does."
	case 1:
		return fmt.Sprintf("One step comes on the sheet: “%s”.", p.Adds.Steps[0].Title)
	}
	return fmt.Sprintf("%d steps come on the sheet, from “%s” to “%s”.", n, p.Adds.Steps[0].Title, p.Adds.Steps[n-1].Title)
}

func (p AddServicePage) undoes() string {
	switch n := len(p.Adds.Undone); n {
	case 0:
		return "Nothing that is signed is undone."
	case 1:
		return "One sign-off will be crossed out and asked again:"
	default:
		return num(n) + " sign-offs will be crossed out and asked again:"
	}
}

// undone names each step once, with who signed it.
func (p AddServicePage) undone() []string {
	var lines []string
	for _, so := range p.Adds.Undone {
		step := p.Sheet.Find(so.StepID)
		line := num(step.Seq) + ". " + step.Title + ", " + so.Actor
		if so.Role == bench.RoleChecked {
			line = num(step.Seq) + ". second check: " + step.Title + ", " + so.Actor
		}
		lines = append(lines, line)
	}
	return slices.Clip(lines)
}
