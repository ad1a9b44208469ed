package browsertest_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/demo"
	"damperdesk/web/browsertest"
)

// halfFilled holds that words at the counter outlive what happens to the page
// they are typed in.
func halfFilled(t *testing.T, d desk, s stock) {
	t.Run("a closed tab", func(t *testing.T) { closedTab(t, d) })
	t.Run("a lost sign-in", func(t *testing.T) { lostSignIn(t, d) })
	t.Run("a scan in the middle", func(t *testing.T) { scannedAway(t, d, s) })
	t.Run("two desks in one draft", func(t *testing.T) { twoInADraft(t, d) })
	t.Run("two desks at one job", func(t *testing.T) { twoAtAJob(t, d, s) })
}

// holdsText says what a field of the page holds.
func (h hand) holdsText(selector, want, when string) {
	h.t.Helper()
	var got string
	for end := time.Now().Add(5 * time.Second); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		var err error
		if got, err = browsertest.Eval[string](h.Tab, `document.querySelector(`+quote(selector)+`)?.value ?? ""`); err == nil && got == want {
			return
		}
	}
	h.t.Errorf("%s: %s at %s holds %q, want %q", when, selector, h.path(), got, want)
}

// begins starts a drop-off for somebody with words of its own, and waits until
// the server has it.
func (h hand) begins(who string) (draft string) {
	h.t.Helper()
	h.goTo("/drop-off")
	h.typeKeys(`[name="left"]`, who)
	h.wait("[data-drafted]", "Draft kept", 15*time.Second)
	draft, err := browsertest.Eval[string](h.Tab, `document.querySelector('form[data-draft] [name="draft"]').value`)
	h.must(err, "read which draft it is")
	return draft
}

func closedTab(t *testing.T, d desk) {
	tab, end, err := d.browser.Open(d.address, screen.width, screen.height)
	if err != nil {
		t.Fatal(err)
	}
	h := hand{t, tab, d}
	h.signIn("Odile", demo.Passphrase("Odile"))
	draft := h.begins("a bell and a lamp")
	end()
	again := d.sit(t, "Odile", screen.width, screen.height)
	again.goTo("/drop-off?draft=" + draft)
	again.holdsText(`[name="left"]`, "a bell and a lamp", "after the tab was closed")
}

func lostSignIn(t *testing.T, d desk) {
	h := d.sit(t, "Odile", screen.width, screen.height)
	h.begins("a bell")
	h.must(h.Forget(), "lose the sign-in")
	h.typeKeys(`[name="left"]`, " and a pump")
	h.typeKeys(`[name="limit"]`, "90")
	time.Sleep(4 * time.Second) // the script tries, and is refused
	h.goTo("/board")
	h.signIn("Odile", demo.Passphrase("Odile"))
	h.goTo("/drop-off")
	h.holdsText(`[name="left"]`, "a bell and a pump", "after the sign-in was lost")
	h.holdsText(`[name="limit"]`, "90", "after the sign-in was lost")
}

func scannedAway(t *testing.T, d desk, s stock) {
	h := d.sit(t, "Odile", screen.width, screen.height)
	id := s.job("on the bench")
	h.goTo("/drop-off")
	h.choose(`#found input[name="customer"][value="new"]`)
	h.reads("#units", "Another unit")
	h.typeKeys(`[name="left"]`, "tube strap")
	h.choose(`[name="unit0.symptoms"][value="dives"]`)
	h.typeKeys(`[name="unit0.complaint"]`, "like gravel")
	h.scan(fmt.Sprint("http://desk.test:8080/tickets/", s.id("select number from job where id = $1", id)))
	h.isAt(fmt.Sprintf("/jobs/%d", id), "in the middle of a drop-off")
	if _, err := browsertest.Eval[bool](h.Tab, `history.back(), true`); err != nil {
		t.Fatal(err)
	}
	h.holdsText(`[name="left"]`, "tube strap", "back from the job")
	h.holdsText(`[name="unit0.complaint"]`, "like gravel", "back from the job")
	if !h.has(`[name="unit0.symptoms"][value="dives"]:checked`) || !h.has(`[name="customer"][value="new"]:checked`) {
		t.Error("back from the job: what was ticked is gone")
	}
}

// twoInADraft has both type in one; the later one is told and has both.
func twoInADraft(t *testing.T, d desk) {
	first := d.sit(t, "Odile", screen.width, screen.height)
	draft := first.begins("a bell")
	second := d.sit(t, "Ragna", screen.width, screen.height)
	second.goTo("/drop-off?draft=" + draft)
	second.typeKeys(`[name="terms"]`, "the rider’s sister")
	second.wait("[data-drafted]", "Draft kept", 15*time.Second)
	first.typeKeys(`[name="left"]`, " and a pump")
	first.wait("#apart", "kept it too", 15*time.Second)
	first.reads("#apart", "the rider’s sister")
	first.holds("a draft that two typed in")
	first.goTo("/drop-off?draft=" + draft)
	first.holdsText(`[name="terms"]`, "the rider’s sister", "the one that was kept first")
	if p := second.path(); !strings.Contains(p, draft) {
		t.Errorf("the other desk is at %s, want its own draft still", p)
	}
}

func twoAtAJob(t *testing.T, d desk, s stock) {
	path := fmt.Sprintf("/jobs/%d/change", s.job("dropped off"))
	first, second := d.sit(t, "Odile", screen.width, screen.height), d.sit(t, "Ragna", screen.width, screen.height)
	first.goTo(path)
	was, err := browsertest.Eval[string](first.Tab, `document.querySelector('[name="hangs"]').value`)
	first.must(err, "read where it hangs")
	second.goTo(path)
	second.fill(`[name="hangs"]`, "shelf 9")
	second.press("main form button.main")
	first.fill(`[name="hangs"]`, "hook 77")
	first.press("main form button.main")
	for _, words := range []string{"hook 77 yours", "shelf 9 theirs", "what was there"} {
		first.reads(`fieldset:has([name="pick.hangs"])`, words)
	}
	if was != "" {
		first.reads(`fieldset:has([name="pick.hangs"])`, was)
	}
	first.choose(`[name="pick.hangs"][value="theirs"]`)
	first.press("main form button.main")
	first.reads("main", "shelf 9")
}
