// Package reconcile brings together what two people did to one form, so that
// neither takes the other's words away.
package reconcile

import (
	"maps"
	"slices"
	"strings"
)

// Facts is what a form holds, each field as it is typed.
type Facts map[string]string

// Clash is a field that two people changed to different words since one of them
// opened it.
type Clash struct{ Field, Was, Theirs, Mine string }

// Differ refuses a change that clashes with one made meanwhile.
type Differ struct {
	Clashes     []Clash
	Merged, Now Facts
}

func (Differ) Error() string { return "changed meanwhile" }

// Fields compares what somebody opened, what stands now and what they typed, for
// each of the fields. One that only one of the two changed is as that one left
// it; others are those that the other one changed. Until somebody chooses, a
// clash stands as it was typed.
func Fields(fields []string, was, theirs, mine Facts) (merged Facts, clashes []Clash, others []string) {
	merged = maps.Clone(mine)
	for _, f := range fields {
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

// same leaves out of sight what a form adds to a text that nobody touched.
func same(a, b string) bool { return strings.TrimSpace(oneEnd(a)) == strings.TrimSpace(oneEnd(b)) }

// oneEnd has every line end as a form that is not sent has it.
func oneEnd(s string) string { return strings.ReplaceAll(s, "\r\n", "\n") }

// Changed are those of the fields in which two differ.
func (f Facts) Changed(fields []string, from Facts) []string {
	return slices.DeleteFunc(slices.Clone(fields), func(name string) bool { return oneEnd(f[name]) == oneEnd(from[name]) })
}
