package browsertest_test

import "testing"

// estimated chooses services at the counter: what they come to follows by
// itself, without the one that another covers, and beside the spending limit
// whether it is above it.
func estimated(t *testing.T, d desk) {
	h := d.sit(t, "Odile", 1280, 900)
	h.goTo("/drop-off?customer=new")
	h.choose(`[name="unit0.services"][value="lower-leg"]`)
	h.reads("#promise .bill .total", "£65.00")
	h.choose(`[name="unit0.services"][value="air-spring"]`)
	h.reads("#promise .bill .total", "£95.00")
	h.fill(`[name="limit"]`, "90")
	h.choose(`[name="unit0.services"][value="crown-steerer"]`)
	h.reads("#promise .bill .total", "£130.00")
	h.reads(`#promise [role="status"]`, "£40.00 above the spending limit")
}
