package browsertest_test

import (
	"strings"
	"testing"

	"damperdesk/internal/demo"
	"damperdesk/web/browsertest"
)

// onATablet enrols one, signs Tobias in by the pad, and lets Marit check what
// he did without taking his place.
func onATablet(t *testing.T, d desk) {
	h := d.sit(t, "Ragna", 1024, 768)
	h.goTo("/tablets")
	h.fill(`form[action="/tablets"] [name="name"]`, "bench two")
	h.press(`form[action="/tablets"] button.main`)
	h.reads("h1", "Who is at the bench?")
	h.holds("who is at the bench")
	// Time goes by on the clock, at the offset of that day in the shop's zone:
	// one hour in London’s summer.
	_, err := browsertest.Eval[bool](h.Tab, `(Date.now = () => Date.parse("2027-07-01T10:30:20Z")) != null`)
	h.must(err, "let time go by")
	h.reads(".clock:not([hidden])", "11:30")
	// Nobody waits for what somebody else typed wrong.
	h.choose(`[data-name="Ines"]`)
	h.reads(`label[for="f-pin"]`, "PIN of Ines")
	h.pad("000009")
	h.press(".pin .main")
	h.reads("#f-pin-error", "That is not the PIN of Ines.")
	h.holds("a wrong PIN")
	h.reads(`label[for="f-pin"]`, "PIN of Ines")
	h.pad("7")
	h.choose(`[data-name="Tobias"]`)
	h.pad("back" + demo.PIN("Tobias"))
	h.press(".pin .main")
	path := h.path()
	if !strings.Contains(path, "/steps/") {
		t.Fatalf("Tobias is led to %s, want the step he left off at", path)
	}
	checks := path[:strings.Index(path, "/steps/")] + "/checks"
	h.goTo(checks)
	h.holds("second check on a tablet")
	h.choose(`[name="check"]`)
	h.choose(`[data-name="Marit"]`)
	h.pad(demo.PIN("Marit"))
	h.press(".together .main")
	h.reads(".job > a:last-of-type", "Tobias")
	h.look(view{"Tobias", "/sign-in", nil})
	h.goTo(checks)
	left, err := browsertest.Eval[int](h.Tab, `document.querySelectorAll("[name=check]").length`)
	h.must(err, "count what is left to check")
	if left != 2 {
		t.Errorf("%d steps wait for their second check, want two of three", left)
	}
}

// pad presses the keys of the pad: "back", then digits.
func (h hand) pad(keys string) {
	h.t.Helper()
	want := strings.TrimPrefix(keys, "back")
	list := strings.Split(want, "")
	if want != keys {
		list = append([]string{"back"}, list...)
	}
	for _, key := range list {
		pressed, err := browsertest.Eval[bool](h.Tab, `(k => { k?.click(); return !!k })([...document.querySelectorAll(".pad .key")].find(k => k.textContent === `+quote(key)+`))`)
		h.must(err, "press "+key)
		if !pressed {
			h.t.Fatalf("the pad has no key %s", key)
		}
	}
}
