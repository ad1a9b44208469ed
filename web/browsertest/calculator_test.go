package browsertest_test

import (
	"strings"
	"testing"

	"damperdesk/web/browsertest"
)

// calculated types into a calculator on a tablet: the answer follows by itself,
// and so does the address, which another device opens with the same answer; what
// cannot be answered is said where the answer was. 62 lbf·in is 7.005 N·m by
// NIST SP 811, B.8.
func calculated(t *testing.T, d desk) {
	h, other := d.sit(t, "Ines", 768, 1024), d.sit(t, "Odile", 768, 1024)
	h.goTo("/calculators/units")
	h.typeKeys(`[name="value"]`, "62 lbf·in")
	h.reads("#answer", "7.0050594 N·m unrounded")
	address, err := browsertest.Eval[string](h.Tab, "location.pathname + location.search")
	h.must(err, "read the address")
	if !strings.HasPrefix(address, "/calculators/units?value=62") {
		t.Fatalf("the address is %q", address)
	}
	other.goTo(address)
	other.reads("#answer", "7.0050594 N·m unrounded")
	h.typeKeys(`[name="value"]`, "!")
	h.reads("#answer", "No answer yet. Value: Type a number with its unit")

	// An answer does not outlive its numbers where no other comes.
	h.goTo(address)
	h.must(h.Forget(), "sign out")
	h.typeKeys(`[name="value"]`, "2")
	h.reads("#answer", "No answer: the shop")
	if h.has("#answer dl") {
		t.Error("the answer to other numbers stays")
	}
}
