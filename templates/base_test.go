package templates

import (
	"slices"
	"testing"
)

func TestWhatIsWrongIsSaidInTheOrderOfTheForm(t *testing.T) {
	b := Base{Errors: map[string]string{
		"terms": "d", "promised": "c", "unit1.model": "b", "unit0.services": "b", "unit0.model": "b", "customer": "a", "zzz": "e", "expected": "e",
	}}
	want := []string{"customer", "unit0.model", "unit0.services", "unit1.model", "promised", "terms", "expected", "zzz"}
	if got := b.wrong(); !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}
