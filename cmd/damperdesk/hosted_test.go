//go:build hosted

package main

import (
	"crypto/tls"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/demo"
)

// The tests in this file work on a server that somebody else has started:
// .ci/engine runs them one by one against the containers, through a proxy with
// TLS.

// given is what the one who starts the tests has to say.
func given(t *testing.T, name string) string {
	t.Helper()
	text := os.Getenv(name)
	if text == "" {
		t.Fatalf("%s has to be set", name)
	}
	return text
}

// hostedAt is a browser that has nothing yet. It trusts any certificate, since the
// proxy's is made for the test.
func hostedAt(t *testing.T, name string) *mechanic {
	t.Helper()
	m := newMechanic(t, given(t, "DAMPERDESK_TEST_ADDRESS"), name)
	m.client.Transport = &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}}
	return m
}

func TestHostedShopOpens(t *testing.T) {
	ragna := hostedAt(t, "Ragna")
	page, err := ragna.get("/setup")
	if err != nil {
		t.Fatal(err)
	}
	form := filled(page.Find("form.setup"))
	for name, value := range map[string]string{
		"code": given(t, "DAMPERDESK_TEST_CODE"), "shop": "Weir Lane Cycles", "zone": "Europe/London", "currency": "GBP",
		"name": "Ragna", "passphrase": passphrase, "passphrase-again": passphrase,
	} {
		form.Set(name, value)
	}
	if to, err := ragna.post("/setup", form); err != nil || to != "/shop" {
		t.Fatalf("set up: to %q, %v", to, err)
	}
	board := ragna.listen(t, "/live?of=board")
	ragna.takeInAFork(t)
	board.want(t, "changed")
	ragna.start(t)
	if err := ragna.pressOn(ragna.address, 3, nil); err != nil {
		t.Errorf("sign off steps: %v", err)
	}
	board.want(t, "changed")
	wantGuardedCookie(t, ragna)
	wantOtherSitesRefused(t, ragna)
}

// takeInAFork logs a drop-off and looks at the ticket.
func (m *mechanic) takeInAFork(t *testing.T) {
	t.Helper()
	page, err := m.get("/drop-off")
	if err != nil {
		t.Fatal(err)
	}
	form := filled(page.Find("main form").First())
	for name, value := range map[string]string{
		"press": "take in", "customer": "new", "name": "Odette Marsh", "phone": "07700 900118",
		"unit0.unit": "new", "unit0.kind": "fork", "unit0.words": "grey fork", "unit0.symptoms": "sticky", "unit0.services": "lower-leg",
		"promise": "", "promised": time.Now().AddDate(0, 0, 3).Format("2006-01-02T15:04"),
	} {
		form.Set(name, value)
	}
	form.Del("unit0.ridden")   // nothing is said of the riding,
	form.Del("unit0.happened") // and nothing has happened
	to, err := m.post("/drop-off", form)
	if err != nil || to != "/visits/1" {
		t.Fatalf("drop-off: to %q, %v", to, err)
	}
	ticket, err := m.get("/jobs/1/ticket")
	if err != nil || !strings.Contains(ticket.Text(), "grey fork") {
		t.Errorf("the ticket: %v", err)
	}
}

// A cookie that is Secure is not sent in the clear (RFC 6265, section 4.1.2.5);
// which attributes it has is only in the answer that sets it.
func wantGuardedCookie(t *testing.T, m *mechanic) {
	t.Helper()
	res, err := m.client.PostForm(m.address+"/sign-in", map[string][]string{"name": {m.name}, "passphrase": {passphrase}})
	if err != nil {
		t.Fatal(err)
	}
	res.Body.Close()
	for _, c := range res.Cookies() {
		if c.Secure && c.HttpOnly && c.SameSite == http.SameSiteLaxMode {
			return
		}
	}
	t.Errorf("%s sets the cookies %v, want one that is Secure, HttpOnly and SameSite=Lax", res.Status, res.Cookies())
}

// A browser says by Sec-Fetch-Site (W3C Fetch Metadata) or Origin (RFC 6454)
// whose page has sent a form.
func wantOtherSitesRefused(t *testing.T, m *mechanic) {
	t.Helper()
	for _, c := range []struct {
		name, value string
		want        int
	}{
		{"Sec-Fetch-Site", "cross-site", http.StatusForbidden},
		{"Origin", "https://elsewhere.example.com", http.StatusForbidden},
		{"Origin", m.address, http.StatusSeeOther},
	} {
		req, err := http.NewRequest(http.MethodPost, m.address+"/sign-out", nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set(c.name, c.value)
		res, err := m.client.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		if res.StatusCode != c.want {
			t.Errorf("a form with %s: %s is answered %s, want %d", c.name, c.value, res.Status, c.want)
		}
	}
}

// What was done before the containers went is there when they come back, and
// links are shown as before: the key has come back too.
func TestHostedShopIsStillThere(t *testing.T) {
	ragna := hostedAt(t, "Ragna")
	ragna.signIn(t)
	link := ragna.linkShown(t)
	if page, err := ragna.get(link); link == "" || err != nil || !strings.Contains(page.Text(), "grey fork") {
		t.Errorf("the customer's page at %q: %v", link, err)
	}
	sheet, err := ragna.get("/bench/1")
	if err != nil {
		t.Fatal(err)
	}
	ragna.at = sheet.Find(".links a.main").AttrOr("href", "")
	if by := sheet.Find("#sheet .by").Text(); !strings.Contains(by, "Ragna") {
		t.Errorf("no step of the bench sheet is signed: %q", by)
	}
	if err := ragna.pressOn(ragna.address, 1, nil); err != nil {
		t.Errorf("sign off another step: %v", err)
	}
}

func TestHostedDemoAnswers(t *testing.T) {
	odile := hostedAt(t, "Odile")
	to, err := odile.post("/sign-in", map[string][]string{"name": {"Odile"}, "passphrase": {demo.Passphrase("Odile")}, "next": {"/board"}})
	if err != nil || to != "/board" {
		t.Fatalf("sign in to the demo: to %q, %v", to, err)
	}
	board, err := odile.get("/board")
	if err != nil {
		t.Fatal(err)
	}
	if board.Find(`a[href^="/jobs/"]`).Length() == 0 {
		t.Error("the demo's board is empty")
	}
}
