package job

import (
	"maps"
	"slices"
	"strings"

	"damperdesk/internal/money"
)

// Facts is what the desk may change about a job and its visit, each as it is
// typed, by field.
type Facts map[string]string

// FactFields are the fields of Facts, in the order of the form. The last three
// are of the visit.
var FactFields = []string{"complaint", "symptoms", "hangs", "cameas", "rider", "riding", "ebike", "oldparts", "limit", "goesback", "left"}

var visitFacts = []string{"limit", "goesback", "left"}

// FactsOf is how a job and its visit stand. Symptoms are their codes with
// spaces between, a limit is an amount with its currency.
func FactsOf(j Job, v VisitWithJobs) Facts {
	f := Facts{
		"complaint": j.Complaint, "symptoms": SymptomText(j.Symptoms), "hangs": j.HangsAt, "cameas": j.CameAs,
		"rider": j.RiderEntered, "riding": j.Riding, "ebike": "", "oldparts": j.OldParts,
		"limit": "", "goesback": v.GoesBack, "left": v.LeftWith,
	}
	if j.EBike {
		f["ebike"] = "yes"
	}
	if v.LimitMinor != nil {
		f["limit"] = money.Format(*v.LimitMinor, v.Currency)
	}
	return f
}

// SymptomText is a list of symptoms as Facts have it.
func SymptomText(codes []string) string {
	codes = once(codes)
	sortSymptoms(codes)
	return strings.Join(codes, " ")
}

// Clash is a field that two people changed to different words since one of them
// opened it.
type Clash struct{ Field, Was, Theirs, Mine string }

// Reconcile compares what somebody opened, what stands now and what they typed.
// A field that only one of the two changed is as that one left it; others are
// those that the other one changed. Until somebody chooses, a clash stands as
// it was typed.
func Reconcile(was, theirs, mine Facts) (merged Facts, clashes []Clash, others []string) {
	merged = maps.Clone(mine)
	for _, f := range FactFields {
		same := func(a, b string) bool { return strings.TrimSpace(oneEnd(a)) == strings.TrimSpace(oneEnd(b)) }
		switch {
		case same(theirs[f], was[f]) || same(theirs[f], mine[f]):
		case same(mine[f], was[f]):
			merged[f], others = theirs[f], append(others, f)
		default:
			clashes = append(clashes, Clash{f, was[f], theirs[f], mine[f]})
		}
	}
	return merged, clashes, others
}

// oneEnd has every line end as a form that is not sent has it.
func oneEnd(s string) string { return strings.ReplaceAll(s, "\r\n", "\n") }

// Differ refuses a change that clashes with one made meanwhile.
type Differ struct {
	Clashes     []Clash
	Merged, Now Facts
}

func (Differ) Error() string { return "changed meanwhile" }

// changed are the fields in which two differ.
func (f Facts) changed(from Facts) []string {
	return slices.DeleteFunc(slices.Clone(FactFields), func(name string) bool { return oneEnd(f[name]) == oneEnd(from[name]) })
}
