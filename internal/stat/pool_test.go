package stat

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"testing"

	"damperdesk/internal/vector"
)

func TestPoolAsPublished(t *testing.T) {
	for _, row := range vector.Rows(t, "stat", "pool") {
		var groups []Mean
		for word := range strings.FieldsSeq(row["groups"]) {
			var g Mean
			if _, err := fmt.Sscanf(word, "%g:%g", &g.Value, &g.Var); err != nil {
				t.Fatal(err)
			}
			groups = append(groups, g)
		}
		p, err := Pool(groups)
		got := p.Common
		if row["what"] == "between" {
			got = p.Between
		} else if i, numeric := strconv.Atoi(row["what"]); numeric == nil {
			got = p.Drawn[i]
		}
		row.Near(t, got, err, "want")
	}
}

func TestPoolRefusesWhatSaysNothing(t *testing.T) {
	if _, err := Pool(make([]Mean, LeastMeans-1)); !errors.As(err, &TooFew{}) {
		t.Errorf("three groups: %v", err)
	}
	if _, err := Pool(make([]Mean, LeastMeans)); err == nil {
		t.Error("groups without a variance were pooled")
	}
}

// Bühlmann's credibility for 3 years with k = 2 is 0.6 (the first example of
// most textbooks of it; common practice, no source).
func TestTowardIsCredibility(t *testing.T) {
	if got := Toward(10, 3, 5, 2); got != 8 {
		t.Errorf("10 seen three times, 5 before with a weight of 2: %v, want 8", got)
	}
	if got := Toward(10, 0, 5, 2); got != 5 {
		t.Errorf("nothing seen: %v, want 5", got)
	}
}
