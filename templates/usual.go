package templates

import (
	"fmt"
	"strings"

	"github.com/a-h/templ"

	"damperdesk/internal/customer"
	"damperdesk/internal/job"
)

// PressUsual begins what the button sends that ticks what a symptom usually
// needs; the prefix of its unit and the symptom follow.
const PressUsual = "usual "

func pressUsual(i int, s job.Symptom) string { return PressUsual + unitField(i, "") + " " + s.Code }

func needCodes(u job.Usual) string {
	var codes []string
	for _, n := range u.Needs {
		codes = append(codes, n.Code)
	}
	return strings.Join(codes, " ")
}

// needShare is what to expect of the next ones: "71 %, 60 to 81 %".
func needShare(n job.Need) string {
	if n.Next == nil {
		return ""
	}
	return fmt.Sprintf("%s, 80 %% interval %.0f to %.0f %%", percent(n.Next.Share), 100*n.Next.Low, 100*n.Next.High)
}

// usualBasis says whose word it is.
func usualBasis(u job.Usual) string {
	forks := plural(u.N, "such fork") + " finished here"
	switch {
	case u.Own():
		return "by " + forks
	case u.N >= job.LeastUsual:
		return "by the trade’s list: of " + forks + ", no service had half"
	}
	return fmt.Sprintf("by the trade’s list; %s, our own figures from %d", forks, job.LeastUsual)
}

// ofUnitKind lets the stylesheet leave out what is about other units than the
// one that is chosen.
func ofUnitKind(u customer.Unit) templ.Attributes {
	attrs := templ.Attributes{"data-kind": u.Kind}
	if u.Spring != "" {
		attrs["data-spring"] = u.Spring
	}
	return attrs
}
