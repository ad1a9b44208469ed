package browsertest_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"damperdesk/web/browsertest"
)

// scan types a code as a scanner does, a key each few milliseconds.
func (h hand) scan(code string) {
	h.t.Helper()
	time.Sleep(150 * time.Millisecond) // somebody reaches for it
	h.must(h.Burst(code+"\r"), "scan "+code)
}

func (h hand) isAt(path, when string) {
	h.t.Helper()
	for end := time.Now().Add(10 * time.Second); h.path() != path; time.Sleep(50 * time.Millisecond) {
		if time.Now().After(end) {
			h.t.Fatalf("%s: at %s, want %s", when, h.path(), path)
		}
	}
	h.must(h.Ready(), "wait for "+path)
}

// scanned walks with a hand scanner over plain HTTP: a keyboard that is fast.
func scanned(t *testing.T, d desk, s stock) {
	h := d.sit(t, "Odile", screen.width, screen.height)
	id := s.job("on the bench")
	number := fmt.Sprint(s.id("select number from job where id = $1", id))
	job, ticket := fmt.Sprintf("/jobs/%d", id), "http://desk.test:8080/tickets/"+number
	value := func(selector string) string {
		v, err := browsertest.Eval[string](h.Tab, `document.querySelector(`+quote(selector)+`).value`)
		h.must(err, "read "+selector)
		return v
	}

	h.goTo("/board")
	h.scan(ticket)
	h.isAt(job, "a ticket on the board")
	h.goTo("/due")
	h.scan(number)
	h.isAt(job, "a bare number")
	h.goTo("/board")
	h.must(h.Focus(`.board .no a`), "stand on a ticket") // Enter would open it
	h.scan(ticket)
	h.isAt(job, "with a ticket in focus")
	h.goTo("/board")
	h.scan(s.customer(id))
	h.isAt(fmt.Sprintf("/visits/%d", s.id("select visit_id from job where id = $1", id)), "the customer’s page on their phone")

	h.goTo("/drop-off")
	h.typeKeys(`[name="left"]`, "tube strap ")
	h.scan(ticket)
	h.isAt(job, "in the middle of a drop-off")
	h.goTo("/drop-off")
	h.holdsText(`[name="left"]`, "tube strap ", "after a scan")
	h.must(h.Focus(`[name="limit"]`), "go to the limit")
	h.scan("TL-20418")
	time.Sleep(2 * time.Second) // its Enter presses Find, which keeps what is typed
	h.must(h.Ready(), "wait for the form")
	if v := value(`[name="limit"]`); v != "TL-20418" || !strings.HasPrefix(h.path(), "/drop-off") {
		t.Errorf("a serial scanned into a field reads %q, at %s; want it typed there", v, h.path())
	}

	h.goTo("/board")
	h.scan("ZZ-99999")
	h.isAt("/codes?code=ZZ-99999", "an unknown code")
	h.reads("h1", "Unknown code")
	h.reads("[role=status]", "has the code “ZZ-99999”")
	h.goTo("/due")
	h.typeKeys("#find", number+"\r")
	h.isAt(job, "typed by hand")

	m := d.sit(t, "Ines", 1024, 768)
	m.goTo(fmt.Sprintf("/bench/%d", id))
	m.scan(fmt.Sprint(s.id("select number from job where stage = 'ready for pickup' order by id limit 1")))
	m.isAt(fmt.Sprintf("/jobs/%d", s.job("ready for pickup")), "on a bench sheet")
}
