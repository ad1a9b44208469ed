package web

import (
	"net/http"
	"strconv"
	"testing"
)

// What was typed before the sign-in was lost is never sent unasked, whoever
// comes next on the tablet.
func TestALostSignInOnATabletKeepsTheTypedForm(t *testing.T) {
	s := server(t)
	ines := s.as(mechanic)
	who, tab := s.pinned(ines.person), s.enrolled("bench one")
	lost := tab.post("/jobs/7/move", "to", "in the queue").want(http.StatusUnauthorized).wantWords("[data-unsent]", "What you typed is kept")
	carried := []string{"who", who, "pin", pin}
	for _, in := range lost.Find("main form input[type=hidden]").EachIter() {
		carried = append(carried, in.AttrOr("name", ""), in.AttrOr("value", ""))
	}
	instead := tab.post("/sign-in/pin", append(carried, "with", "passphrase")...).want(http.StatusOK)
	if instead.value("kept.to") != "in the queue" || instead.wantWords("label", "Pass-phrase").value("passphrase") != "" {
		t.Errorf("by pass-phrase %q is kept", instead.value("kept.to"))
	}
	on := tab.post("/sign-in/pin", carried...).want(http.StatusOK).wantWords("h1", "Signed in again")
	if on.value("to") != "in the queue" || on.Find("main form").AttrOr("action", "") != "/jobs/7/move" {
		t.Errorf("would send %s", on.words("main"))
	}
	secret := tab.anybody()
	secret.tablet = tab.tablet
	if p := secret.post("/bench/7/checks", "who", who, "pin", pin, "check", "3"); p.Find(`[name^=kept]`).Length() != 0 {
		t.Errorf("a form with a PIN is kept: %s", p.words("main"))
	}
}

func TestAPINIsOutOfWhatIsStored(t *testing.T) {
	one := fingerprint("/x", map[string][]string{"who": {"7"}, "pin": {"1"}, "pin-again": {"1"}})
	two := fingerprint("/x", map[string][]string{"who": {"7"}, "pin": {"2"}, "pin-again": {"2"}})
	other := fingerprint("/x", map[string][]string{"who": {"8"}, "pin": {"1"}, "pinned": {"1"}})
	if string(one) != string(two) || string(one) == string(other) {
		t.Error("the fingerprint depends on the PIN, or not on the rest")
	}
}

func TestAPINLeadsBackToTheStepOfTheDay(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, ines := c.benchJob(), s.as(mechanic)
	step, path := c.onBench(ines, j, "S5")
	who, tab := s.pinned(ines.person), s.enrolled("bench one")
	note := "on " + strconv.Itoa(j.Number) + ", step " + strconv.Itoa(step.Seq) + " of"
	tab.get("/sign-in").wantWords(".pick:has([value='"+who+"'])", note)
	tab.post("/sign-in/pin", "who", who, "pin", pin).wantTo(path)
	tab.post("/sign-out").wantTo("/sign-in")
	tab.post("/sign-in/pin", "who", who, "pin", pin, "next", "/board").wantTo("/board")
}
