package web

import (
	"context"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
)

func TestWhatIsNowhereIsBoundedOnThePublicListener(t *testing.T) {
	c := newLinked(t)
	open := c.public("")
	b := open.anybody()
	for i := range pagesAtOnce {
		b.get("/zz" + strconv.Itoa(i)).want(http.StatusNotFound)
	}
	written := len(c.log.String())
	for _, got := range []*page{b.get("/zz"), b.post("/zz"), b.post("/b"), b.get(c.visit + "/zz"), b.post(c.visit), b.get(c.visit)} {
		got.want(http.StatusTooManyRequests).wantWords("h1", "Too many tries")
	}
	if n := len(c.log.String()); n != written {
		t.Errorf("who asks too much fills the log: %s", c.log.String()[written:])
	}
	c.pass(pagesEach)
	b.get("/zz").want(http.StatusNotFound)
	// Behind the shop's own listener people share an address, and are known.
	shop := c.anybody()
	for range pagesAtOnce + 1 {
		shop.get("/zz").want(http.StatusNotFound)
	}
}

func TestWhatIsNowhereBelowALinkIsBoundedOnBothListeners(t *testing.T) {
	c := newLinked(t)
	b := c.anybody()
	for range pagesAtOnce {
		b.get("/c/zz/zz").want(http.StatusNotFound)
	}
	b.get("/c/zz/zz").want(http.StatusTooManyRequests)
}

// sendRaw posts a body as it is.
func (b *browser) sendRaw(path, body string) *page {
	b.t.Helper()
	req, err := http.NewRequest(http.MethodPost, b.url+path, strings.NewReader(body))
	if err != nil {
		b.t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Origin", b.url)
	return b.do(req)
}

// RFC 3986, section 2.1: after a percent sign come two hexadecimal digits.
func TestAFormThatCannotBeReadIsRefused(t *testing.T) {
	c := newLinked(t)
	bodies := map[string]string{"an escape that is none": "intent=" + uuid.NewString() + "&x=%zz", "very many fields": strings.Repeat("a=&", 200_000)}
	gone := c.anybody().get("/c/" + strings.Repeat("x", 43)).want(http.StatusNotFound).body
	staff := c.as(desk, mechanic, owner)
	for what, body := range bodies {
		for _, rt := range routes {
			if rt.method != http.MethodPost {
				continue
			}
			if !forCustomers(rt.pattern) {
				if what == "very many fields" || rt.pattern == "/sign-out" {
					continue
				}
				if got := staff.sendRaw(filled(rt.pattern), body).status; got != http.StatusConflict && got != http.StatusNotFound {
					t.Errorf("%s by POST to %s: %d, want 409", what, rt.pattern, got)
				}
				continue
			}
			if got := c.anybody().sendRaw(c.at(rt.pattern), body); got.status != http.StatusConflict || !strings.Contains(got.body, "did not arrive whole") {
				t.Errorf("%s by POST to %s: %d %q, want 409", what, rt.pattern, got.status, got.words("main"))
			}
			if got := c.anybody().sendRaw(filled(rt.pattern), body); got.status != http.StatusNotFound || got.body != gone {
				t.Errorf("%s by POST to %s that leads nowhere: %d %q, want what is gone", what, rt.pattern, got.status, got.words("main"))
			}
		}
	}
	if text := c.log.String(); strings.Contains(text, "level=ERROR") {
		t.Errorf("a form that cannot be read is an error in the log: %.400s", text)
	}
}

func TestATokenThatLeadsNowhereIsGoneWhateverIsSent(t *testing.T) {
	c := newLinked(t)
	gone := c.anybody().get("/c/" + strings.Repeat("x", 43)).want(http.StatusNotFound).body
	for _, rt := range routes {
		if rt.method != http.MethodPost || !forCustomers(rt.pattern) {
			continue
		}
		for _, body := range []string{"", "x=" + strings.Repeat("y", maxBody)} {
			if got := c.anybody().sendRaw(filled(rt.pattern), body); got.status != http.StatusNotFound || got.body != gone {
				t.Errorf("%d bytes by POST to %s: %d, want what is gone", len(body), rt.pattern, got.status)
			}
		}
	}
}

func TestACustomerChoosesHowToReadSoManyTimes(t *testing.T) {
	const most = 20
	c := newLinked(t)
	b, way := c.anybody(), c.visit+"/way"
	units := []string{"bar", "psi"}
	choose := func(by *browser, at string, version int, unit string) *page {
		return by.post(at, "form", "reads", "version", strconv.Itoa(version), "pressure", unit)
	}
	for i := range most {
		choose(b, way, i, units[i%2]).want(http.StatusSeeOther)
	}
	chosen := c.events("way of reading chosen")
	if full := choose(b, way, most, "bar").want(http.StatusConflict); !strings.Contains(full.words("main"), "changed many times already") {
		t.Errorf("it says %q", full.words("main"))
	}
	choose(b, way, most, "psi").wantTo(c.visit + "?done=way") // as it stands
	if n := c.events("way of reading chosen"); n != chosen || n != most {
		t.Errorf("%d events, then %d; want %d", chosen, n, most)
	}
	at := customerPath(c.customer, "")
	choose(c.as(desk), at+"/way", most, "bar").wantTo(at + "?done=way")
	if n := c.events("way of reading chosen"); n != most+1 {
		t.Errorf("the desk makes %d events, want one more than %d", n, most)
	}
}

// Article 7(3) of the GDPR: consent is as easily withdrawn as given.
func TestAReaderAsksForMessagesSoManyTimesAndAlwaysStopsThem(t *testing.T) {
	const most = 12
	c := newLinked(t)
	b := c.anybody()
	b.post(c.mail).want(http.StatusSeeOther)
	for range most {
		b.post(c.mail, "kind", "ready").want(http.StatusSeeOther)
		b.post(c.mail).want(http.StatusSeeOther)
	}
	before := c.state()["consent"]
	b.post(c.mail).want(http.StatusSeeOther) // as it stands
	full := b.post(c.mail, "kind", "ready").want(http.StatusConflict).wantWords("main", "enough for one day")
	if full.Find("[name=kind][checked]").AttrOr("value", "") != "ready" {
		t.Error("what was ticked is lost")
	}
	if after := c.state()["consent"]; after != before {
		t.Errorf("%s consents before, %s after", before, after)
	}
	at := customerPath(c.customer, "")
	c.as(desk).post(at+"/messages", "kind", "ready", "kind", "moved").want(http.StatusSeeOther)
	c.oneClick(c.mail, "application/x-www-form-urlencoded", "List-Unsubscribe=One-Click")
	b.post(c.mail, "kind", "ready").want(http.StatusConflict)
	b.post(c.mail).want(http.StatusSeeOther)
	if b.get(c.mail).Find("[name=kind][checked]").Length() != 0 {
		t.Error("not everything can be stopped")
	}
	c.pass(24*time.Hour + time.Second)
	b.post(c.mail, "kind", "ready").want(http.StatusSeeOther)
	if b.get(c.mail).Find("[name=kind][checked]").AttrOr("value", "") != "ready" {
		t.Error("it cannot be asked for on another day")
	}
}

// events is how many there are of a kind.
func (s *site) events(kind string) (n int) {
	s.t.Helper()
	if err := s.pool.QueryRow(context.Background(), "select count(*) from event where kind = $1", kind).Scan(&n); err != nil {
		s.t.Fatal(err)
	}
	return n
}
