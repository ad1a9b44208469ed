package templates

import (
	"fmt"

	"damperdesk/internal/bench"
	"damperdesk/internal/job"
)

// TakeOffPage asks which service to take off a job and, once one is chosen,
// says what that changes.
type TakeOffPage struct {
	Base
	Sheet  bench.Sheet
	Chosen string        // the code; empty: none that can be taken off
	Goes   bench.Removal // of the chosen one
}

func takeOffPath(jobID int64) string { return addServicePath(jobID) + "/off" }

// mayTakeOff says whether whoever looks may take a service off the job now: as
// for adding one, and only where another is left.
func mayTakeOff(b Base, j job.Job) bool {
	return len(j.Services) > 1 && mayChangeServices(b, j)
}

func ownServices(j job.Job, chosen string) []Option {
	var options []Option
	for i, code := range j.Services {
		options = append(options, Option{Value: code, Label: j.ServiceNames[i], Chosen: code == chosen})
	}
	return options
}

// goes says what leaves the sheet.
func (p TakeOffPage) goes() string {
	n := len(p.Goes.Steps)
	switch {
	case len(p.Sheet.Steps) == 0:
		return "Work has not started: its steps do not come on the sheet."
	case n == 0:
		return "The other services ask for all of its steps, so none leaves the sheet."
	case n == 1:
		return fmt.Sprintf("One step is no longer asked: “%s”.", p.Goes.Steps[0].Title)
	}
	return fmt.Sprintf("%d steps are no longer asked, from “%s” to “%s”.", n, p.Goes.Steps[0].Title, p.Goes.Steps[n-1].Title)
}

func (p TakeOffPage) again() string {
	if len(p.Goes.Again) == 1 {
		return "One step was crossed out when it was added and stays to be signed again:"
	}
	return num(len(p.Goes.Again)) + " steps were crossed out when it was added and stay to be signed again:"
}

// takenOffWords says who took a service off and why.
func (b Base) takenOffWords(t job.TakenOff) string {
	return listed(t.Service, "taken off "+b.When(t.At), t.By) + ": “" + t.Reason + "”"
}
