package job

import (
	"strings"

	"damperdesk/internal/money"
	"damperdesk/internal/reconcile"
)

// FactFields are what the desk may change about a job and its visit, in the
// order of the form. The last three are of the visit.
var FactFields = []string{"complaint", "symptoms", "hangs", "cameas", "rider", "riding", "ebike", "oldparts", "limit", "goesback", "left"}

var visitFacts = []string{"limit", "goesback", "left"}

// FactsOf is how a job and its visit stand. Symptoms are their codes with
// spaces between, a limit is an amount with its currency.
func FactsOf(j Job, v VisitWithJobs) reconcile.Facts {
	f := reconcile.Facts{
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

// SymptomText is a list of symptoms as a form has it.
func SymptomText(codes []string) string {
	codes = once(codes)
	sortSymptoms(codes)
	return strings.Join(codes, " ")
}
