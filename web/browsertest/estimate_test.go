package browsertest_test

import (
	"strings"
	"testing"
)

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

// taken takes what a symptom usually needs with one press: its service is ticked,
// what it comes to and the days follow, and the press takes nothing in.
func taken(t *testing.T, d desk) {
	h := d.sit(t, "Odile", 1280, 900)
	h.goTo("/drop-off?customer=new")
	h.choose(`[name="unit0.symptoms"][value="creaks"]`)
	h.reads(".of-creaks .usual", "Crown-steerer inspection")
	h.click(".of-creaks [data-ticks]")
	h.reads("#promise .bill .total", "£35.00")
	h.reads("#promise", "the first day with room")
	if !h.has(`[name="unit0.services"][value="crown-steerer"]:checked`) || h.has(`[name="unit0.services"]:checked:not([value="crown-steerer"])`) {
		t.Error("the press ticks other than what creaks usually need")
	}
	if path := h.path(); !strings.HasPrefix(path, "/drop-off?customer=new") {
		t.Errorf("the press leads to %s", path)
	}
}
