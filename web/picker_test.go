package web

import (
	"context"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/staff"
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
	one := openly("/x", map[string][]string{"who": {"7"}, "pin": {"1"}, "pin-again": {"1"}})
	two := openly("/x", map[string][]string{"who": {"7"}, "pin": {"2"}, "pin-again": {"2"}})
	other := openly("/x", map[string][]string{"who": {"8"}, "pin": {"1"}, "pinned": {"1"}})
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
	tab.get("/sign-in").wantWords(".job [data-clock='Europe/London'][hidden] time", "14:12")
	tab.get("/sign-in").wantWords(".pick:has([value='"+who+"'])", note)
	tab.post("/sign-in/pin", "who", who, "pin", pin).wantTo(path)
	tab.post("/sign-out").wantTo("/sign-in")
	tab.post("/sign-in/pin", "who", who, "pin", pin, "next", "/board").wantTo("/board")
}

func TestPickingANameAndAPIN(t *testing.T) {
	s := server(t)
	ines, marit := s.as(mechanic), s.as(desk)
	gone := s.as(mechanic)
	s.write(func(tx pgx.Tx, by history.By) error {
		return staff.Leave(context.Background(), tx, by, gone.person.ID, gone.person.Version, by.At)
	})
	who, tab := s.pinned(ines.person), s.enrolled("bench one")
	p := tab.get("/bench?x=1").want(http.StatusUnauthorized)
	p.wantWords(".pick:has([disabled])", marit.person.Name+" pass-phrase first").wantWords(".pick:not(:has([disabled]))", ines.person.Name+" mechanic")
	if strings.Contains(p.words(".people"), gone.person.Name+" ") || p.value("next") != "/bench?x=1" {
		t.Errorf("goes on to %q, from %s", p.value("next"), p.words(".people"))
	}
	wrong := tab.post("/sign-in/pin", "who", who, "pin", "000001", "next", "/bench?x=1").want(http.StatusUnprocessableEntity)
	if wrong.wrong("pin") != "That is not the PIN of "+ines.person.Name+"." || wrong.value("pin") != "" || wrong.value("next") != "/bench?x=1" ||
		wrong.Find("[name=who][checked]").AttrOr("value", "") != who {
		t.Errorf("a wrong PIN: %q, %s", wrong.wrong("pin"), wrong.words("main"))
	}
	wait := tab.post("/sign-in/pin", "who", who, "pin", pin).want(http.StatusUnprocessableEntity)
	if got := wait.wrong("pin"); got != "Too many wrong tries. Wait 1 second, then try again." {
		t.Errorf("at once: %q", got)
	}
	for _, nobody := range []string{"", "x", "999999", strconv.FormatInt(gone.person.ID, 10)} {
		if p := tab.post("/sign-in/pin", "who", nobody, "pin", pin).want(http.StatusUnprocessableEntity); p.wrong("who") != "Choose who you are." {
			t.Errorf("who %q is answered %q", nobody, p.wrong("who"))
		}
	}
	s.pass(time.Second)
	tab.post("/sign-in/pin", "who", who, "pin", pin, "next", "/bench?x=1").wantTo("/bench?x=1")
	tab.get("/bench").want(http.StatusOK).wantWords(".me", ines.person.Name)
	if strings.Contains(s.log.String(), pin) {
		t.Error("the log has the PIN")
	}
}

func TestWithoutATabletAPINIsOfNoUse(t *testing.T) {
	s := server(t)
	who := s.pinned(s.as(mechanic).person)
	b := s.anybody()
	for _, token := range []string{"", "made up"} {
		b.tablet = token
		p := b.post("/sign-in/pin", "who", who, "pin", pin).want(http.StatusConflict)
		p.wantWords("[role=alert]", "A PIN is good on an enrolled tablet alone").wantWords("label", "Pass-phrase")
		b.get("/me").want(http.StatusUnauthorized)
	}
}

func TestSwitchingPutsOneInThePlaceOfTheOther(t *testing.T) {
	s := server(t)
	ines, marit := s.as(mechanic), s.as(mechanic)
	who, next, tab := s.pinned(ines.person), s.pinned(marit.person), s.enrolled("bench one")
	tab.post("/sign-in/pin", "who", who, "pin", pin).wantTo("/")
	link := tab.get("/bench").Find(".me a").AttrOr("href", "")
	if link != "/sign-in?back=%2Fbench" {
		t.Fatalf("the name leads to %q", link)
	}
	pick := tab.get(link).want(http.StatusOK).wantWords("h1", "Who is at the bench?").wantWords(".foot", ines.person.Name+" is signed in here.")
	if back := pick.Find(".foot a").First().AttrOr("href", ""); back != "/bench" {
		t.Errorf("goes back to %q", back)
	}
	if pick.Find("[name=who][checked]").Length() != 0 {
		t.Error("somebody is chosen already")
	}
	token := tab.token
	tab.post("/sign-in/pin", "who", next, "pin", "000001").want(http.StatusUnprocessableEntity)
	tab.get("/bench").wantWords(".me", ines.person.Name) // a wrong PIN changes nothing
	s.pass(time.Second)
	tab.post("/sign-in/pin", "who", next, "pin", pin).wantTo("/")
	if tab.token == token {
		t.Error("the session kept its token")
	}
	tab.get("/bench").wantWords(".me", marit.person.Name)
	tab.token = token
	tab.get("/bench").want(http.StatusUnauthorized)
}

// Away from tablets the name leads to one's own page, as ever.
func TestAtADeskTheNameLeadsToOnesOwnPage(t *testing.T) {
	s := server(t)
	if got := s.as(mechanic).get("/bench").Find(".me a").AttrOr("href", ""); got != "/me" {
		t.Errorf("leads to %q", got)
	}
}
