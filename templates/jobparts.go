package templates

import (
	"slices"
	"strconv"

	"damperdesk/internal/job"
	"damperdesk/internal/partslist"
	"damperdesk/internal/stock"
)

// PartStep is a step of the bench that takes parts or a fluid.
type PartStep struct{ Key, Title string }

// JobPartsPage is what a job needs of the shelf, and what moved for it.
type JobPartsPage struct {
	Base
	Job   job.Job
	Needs []partslist.Need
	Steps []PartStep
	Moves []stock.Entry
}

// NeedPage changes one need of a job.
type NeedPage struct {
	Base
	Job   job.Job
	Need  partslist.Need
	Steps []PartStep
}

func jobPartsPath(id int64) string { return jobPath(id) + "/parts" }

func needPath(n partslist.Need) string { return jobPartsPath(n.JobID) + "/" + itoa(n.ID) }

// stepName is the title of a step that takes parts.
func stepName(steps []PartStep, key string) string {
	for _, s := range steps {
		if s.Key == key {
			return s.Title
		}
	}
	return key
}

// needsAt words where a need goes in.
func needsAt(steps []PartStep, n partslist.Need) string {
	if n.Step == "" {
		return "used by hand"
	}
	return stepName(steps, n.Step)
}

// needState says in a shape and words how a need stands.
func needState(n partslist.Need) (Shape, string) {
	show := n.Measure.Format
	switch {
	case n.Unposted > 0:
		return Triangle, show(n.Unposted) + " used, not in the ledger: to be counted"
	case n.Used > 0:
		return Square, show(n.Used) + " used"
	case n.Choice == partslist.Kept:
		return Disc, "the old one is kept"
	case n.Choice == partslist.CustomerOwn:
		return Disc, "the customer’s own"
	case n.Open() == 0:
		return Disc, show(n.Aside) + " set aside"
	case n.Aside > 0:
		return Diamond, show(n.Aside) + " set aside, " + show(n.Open()) + " lacking"
	case n.Must:
		return Diamond, show(n.Open()) + " lacking"
	}
	return Dotted, "none there; the work does not wait for it"
}

func choiceWords(choice string) string {
	return map[string]string{partslist.New: "a new one", partslist.Kept: "the old one is kept", partslist.CustomerOwn: "the customer’s own"}[choice]
}

func needChoices(chosen string) (list []Option) {
	for _, c := range partslist.Choices {
		list = append(list, Option{Value: c, Label: choiceWords(c), Chosen: c == chosen})
	}
	return list
}

func partStepOptions(steps []PartStep, chosen string) []Option {
	list := []Option{{Value: "", Label: "none, used by hand", Chosen: chosen == ""}}
	for _, s := range steps {
		list = append(list, Option{Value: s.Key, Label: s.Title, Chosen: s.Key == chosen})
	}
	return list
}

// mayChange reports whether what is needed can be changed still.
func (p JobPartsPage) mayChange() bool { return p.Job.ClosedAt == nil }

// mayPark reports whether the job waits for what it lacks, so that it is parked.
func (p JobPartsPage) mayPark() bool {
	return p.mayChange() && slices.ContainsFunc(p.Job.Holds, func(h job.Wait) bool { return h.ForNeeds })
}

func (p JobPartsPage) tray() string {
	for _, h := range p.Job.Holds {
		if h.ForNeeds {
			return h.Tray
		}
	}
	return ""
}

// jobMoveWords is a move for a job in words: "20 mL used".
func jobMoveWords(m stock.Entry) string {
	amount := m.Qty
	if amount < 0 {
		amount = -amount
	}
	words := "put back"
	if m.Kind == stock.Use {
		words = "used"
	}
	return m.Measure.Format(amount) + " " + words
}

// partsLine is how the parts of a job stand, for its page: "3 set aside, 1 lacking".
func partsLine(needs []partslist.Need) (line string, lacking bool) {
	var aside, lacks, used, odd int
	for _, n := range needs {
		switch {
		case n.Unposted > 0:
			odd++
		case n.Used > 0:
			used++
		case n.Lacks():
			lacks++
		case n.Aside > 0:
			aside++
		}
	}
	for _, part := range []struct {
		n     int
		words string
	}{{used, "used"}, {aside, "set aside"}, {lacks, "lacking"}, {odd, "to be counted"}} {
		if part.n > 0 {
			if line != "" {
				line += ", "
			}
			line += strconv.Itoa(part.n) + " " + part.words
		}
	}
	if line == "" && len(needs) > 0 {
		line = "none set aside"
	}
	return line, lacks > 0
}

// expectedWords is when what is lacking is expected.
func (b Base) expectedWords(j job.Job) string {
	for _, h := range j.Holds {
		if h.Kind == job.WaitingOnParts {
			words := "The job waits on parts"
			if h.ExpectedOn != nil {
				words += ", expected " + b.dayOrNone(h.ExpectedOn)
			}
			if h.Tray != "" {
				words += "; its own lie in " + h.Tray
			}
			return words + "."
		}
	}
	return ""
}

// partsLink leads to the parts of a job and says how they stand.
func (p JobPage) partsLink() string {
	if line, _ := partsLine(p.Needs); line != "" {
		return "Parts: " + line
	}
	return "Parts"
}
