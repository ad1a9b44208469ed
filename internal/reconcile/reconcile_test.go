package reconcile_test

import (
	"fmt"
	"strings"
	"testing"

	"damperdesk/internal/reconcile"
)

// What each of three parties has of one field; "" for the same as was.
func TestTwoChangesAreReconciledFieldByField(t *testing.T) {
	for _, c := range []struct{ name, was, theirs, mine, merged, clash, others string }{
		{"nobody changed it", "hook 1", "hook 1", "hook 1", "hook 1", "", ""},
		{"I did", "hook 1", "hook 1", "hook 2", "hook 2", "", ""},
		{"they did", "hook 1", "hook 2", "hook 1", "hook 2", "", "hangs"},
		{"both to the same", "hook 1", "hook 2", "hook 2", "hook 2", "", ""},
		{"both to different words", "hook 1", "hook 2", "hook 3", "hook 3", "hook 1|hook 2|hook 3", ""},
		{"I cleared what they changed", "hook 1", "hook 2", "", "", "hook 1|hook 2|", ""},
		{"they cleared what I left", "hook 1", "", "hook 1", "", "", "hangs"},
		{"another end of line is no change", "a\nb", "a\nb", "a\r\nb", "a\r\nb", "", ""},
	} {
		one := func(text string) reconcile.Facts { return reconcile.Facts{"hangs": text} }
		merged, clashes, others := reconcile.Fields([]string{"hangs"}, one(c.was), one(c.theirs), one(c.mine))
		var clash string
		for _, x := range clashes {
			clash += fmt.Sprint(x.Was, "|", x.Theirs, "|", x.Mine)
		}
		if merged["hangs"] != c.merged || clash != c.clash || strings.Join(others, " ") != c.others {
			t.Errorf("%s: %q, clash %q, others %q; want %q, %q, %q", c.name, merged["hangs"], clash, others, c.merged, c.clash, c.others)
		}
	}
}
