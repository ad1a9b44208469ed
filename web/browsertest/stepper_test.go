package browsertest_test

import (
	"testing"

	"damperdesk/web/browsertest"
)

// The keys beside a number carry its unit; plus and minus count on from the key
// that is chosen, by one mark of the tool: 0.1 N·m, common practice (no source).
func oneMore(t *testing.T, d desk) {
	h := d.sit(t, "Ines", 768, 1024)
	h.goTo("/bench")
	h.press(`.due a[href^="/bench/"]`)
	h.press("main a.main")
	h.reads(".tools", "Wrench")
	for _, c := range []struct{ key, typed, more, less string }{
		{"7.3", "", "7.4", "7.3"}, {"7.5", "", "7.6", "7.5"},
		{"7.3", "64 lbf·in", "65 lbf·in", "64 lbf·in"}, {"7.3", "7,35 N·m", "7.36 N·m", "7.35 N·m"},
	} {
		h.choose(`.keys [name="value"][value^="` + c.key + `"]`)
		if c.typed != "" {
			h.fill(".stepper input", c.typed)
		}
		for by, want := range []string{c.more, c.less} {
			got, err := browsertest.Eval[string](h.Tab, `(() => {
				document.querySelector('.stepper [data-by="`+[]string{"1", "-1"}[by]+`"]').click();
				return document.querySelector('.stepper input').value;
			})()`)
			h.must(err, "press a step")
			if got != want {
				t.Errorf("from %q, or the key %s, a step leads to %q, want %q", c.typed, c.key, got, want)
			}
		}
	}
}
