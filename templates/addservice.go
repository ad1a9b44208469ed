package templates

import (
	"fmt"

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

// mayAddService says whether whoever looks may add a service to the job now.
func mayAddService(b Base, j job.Job, offers []procedure.Service) bool {
	return len(offers) > 0 && mayChangeServices(b, j)
}

// mayChangeServices allows anybody before work has started, then whoever works
// at the bench.
func mayChangeServices(b Base, j job.Job) bool {
	started := j.Stage == job.OnBench || j.Stage == job.FinalCheck
	return j.ClosedAt == nil && j.Stage != job.Ready && (!started || b.Person.Has("mechanic"))
}

func serviceOptions(offers []procedure.Service, chosen string) []Option {
	var options []Option
	for _, s := range offers {
		options = append(options, Option{Value: s.Code, Label: s.Name, Chosen: s.Code == chosen})
	}
	return options
}

func choiceTitle(chosen string) string {
	if chosen != "" {
		return "Another one"
	}
	return "Choose"
}

// brings says what comes on the sheet.
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
	if len(p.Adds.Undone) == 1 {
		return "One sign-off will be crossed out and asked again:"
	}
	return num(len(p.Adds.Undone)) + " sign-offs will be crossed out and asked again:"
}

// undone names each step with who signed or checked it.
func (p AddServicePage) undone() []string {
	var lines []string
	for _, so := range p.Adds.Undone {
		step := p.Sheet.Find(so.StepID)
		line := num(step.Seq) + ". " + step.Title + ", "
		if so.Role == bench.RoleChecked {
			line += "second check, "
		}
		lines = append(lines, line+so.Actor)
	}
	return lines
}
