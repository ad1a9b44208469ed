package templates

import (
	"slices"
	"strings"

	"damperdesk/internal/bench"
	"damperdesk/internal/chart"
	"damperdesk/internal/spec"
)

// earlier is what the step read on earlier jobs of the unit, oldest first.
func (p StepPage) earlier(s *bench.Step) []bench.Earlier { return p.Before[s.Key] }

// earlierWords is "82 psi on 3 Mar 2025", the newest first.
func (p StepPage) earlierWords(s *bench.Step) string {
	var words []string
	for _, e := range slices.Backward(p.earlier(s)) {
		words = append(words, earlierText(s, e)+" on "+p.Date(e.At))
	}
	return strings.Join(words[:min(len(words), 3)], ", ")
}

func earlierText(s *bench.Step, e bench.Earlier) string {
	switch {
	case e.ValueSI != nil:
		return spec.Show(s.Quantity, *e.ValueSI, e.ShownUnit)
	case e.Count != nil && e.Grade == "":
		return countWords(s.SpecKey, *e.Count)
	}
	return e.Grade
}

// trail draws them where there are two at least that lie on one scale.
func (p StepPage) trail(s *bench.Step) (chart.Drawing, bool) {
	var values []chart.Value
	for _, e := range p.earlier(s) {
		if y, ok := earlierAt(s, e); ok {
			values = append(values, chart.Value{X: float64(e.At.Unix()), Y: y})
		}
	}
	id := "trail-" + idText(s.ID)
	return chart.Trail(id, "Before: "+s.Title, "From the oldest to the newest; the newest: "+p.earlierWords(s)+".", values), len(values) > 1
}

func earlierAt(s *bench.Step, e bench.Earlier) (y float64, ok bool) {
	switch {
	case e.ValueSI != nil:
		return *e.ValueSI, true
	case e.Count != nil:
		return *e.Count, true
	}
	i := slices.Index(s.Grades, e.Grade)
	return float64(i), i >= 0
}
