package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/message"
)

// mailed is a counter whose customer has an address.
func mailed(t *testing.T) counter {
	t.Helper()
	c := server(t).counter()
	if _, err := c.pool.Exec(t.Context(), "update customer set mail = 'odette@example.com'"); err != nil {
		t.Fatal(err)
	}
	return c
}

// told is what the outbox has of a visit, the newest first: "ready waiting".
func (s *site) told(visit int64) (list []string) {
	s.t.Helper()
	notes, err := message.Notes(s.t.Context(), s.pool, visit)
	if err != nil {
		s.t.Fatal(err)
	}
	for _, n := range notes[visit] {
		list = append(list, strings.TrimSpace(fmt.Sprint(n.Kind, " ", n.State, " ", n.Why)))
	}
	return list
}

func (s *site) wantTold(rule string, visit int64, want ...string) {
	s.t.Helper()
	if got := s.told(visit); strings.Join(got, ", ") != strings.Join(want, ", ") {
		s.t.Errorf("%s: %q, want %q", rule, got, want)
	}
}

func TestAnOwnerWritesWhatCustomersAreTold(t *testing.T) {
	c := mailed(t)
	j := c.takeIn("Sill 34", dbtest.Now.Add(24*time.Hour))
	b, path := c.as(owner), "/shop/messages/received"
	b.get("/shop").wantWords(".settings", "7 kinds, 0 in your own words; still here after 7 days; first ride after 10 days")
	b.get("/shop/messages").want(http.StatusOK).wantWords("#part-kinds ~ table", "Go-ahead wanted")
	p := b.get(path).want(http.StatusOK).wantWords("pre.mail", "Hello Odette, We have your Sill 34, ticket "+fmt.Sprint(j.Number)).
		wantWords("div.mail", "We have your Sill 34").wantWords("#fields ~ .facts", "{first name}")
	if href := p.Find("div.mail a").AttrOr("href", ""); !strings.Contains(href, "/c/") {
		t.Errorf("the link leads to %q", href)
	}
	typed := []string{"version", "0", "subject", "{shop}", "body", "Hei {frist name}", "ticket", ""}
	p = b.post(path, append(typed, "press", "preview")...).want(http.StatusOK).wantWords("pre.mail", "Hei {frist name}")
	if p.wrong("body") == "" || p.Find("textarea").Text() != "Hei {frist name}" {
		t.Errorf("the preview says %q beside the text, and keeps %q", p.wrong("body"), p.Find("textarea").Text())
	}
	p = b.post(path, typed...).want(http.StatusUnprocessableEntity).wantWords("pre.mail", "Hei {frist name}")
	if !strings.HasPrefix(p.wrong("body"), "There is no field {frist name}") || p.value("subject") != "{shop}" {
		t.Errorf("misspelt: %q beside it, subject %q", p.wrong("body"), p.value("subject"))
	}
	intent := uuid.NewString()
	for range 2 { // a second press leads to the same place
		b.post(path, "intent", intent, "version", "0", "subject", "{shop}", "body", "Hei {first name}").wantTo(path + "?done=saved")
	}
	b.get(path+"?done=saved").wantWords("[role=status]", "in force").wantWords("pre.mail", "Hei Odette").wantWords(".words", "Hello {first name}")
	late := b.post(path, "version", "0", "subject", "x", "body", "y").want(http.StatusConflict)
	if late.Find("textarea").Text() != "y" {
		t.Error("over somebody else’s words what was typed is lost")
	}
	b.post(path, "version", "1", "press", "back").wantTo(path + "?done=back")
	b.get(path).wantWords("pre.mail", "Hello Odette")
	b.get(path+"?ticket=99999").wantWords("[aria-labelledby=preview]", "no ticket 99999")
	b.get("/shop/messages/ready?ticket="+fmt.Sprint(j.Number)).wantWords("[aria-labelledby=preview]", "would not go out").wantWords("pre.mail", "The work on your Sill 34")
	b.get("/shop/messages/due-soon").wantWords("[aria-labelledby=preview]", "No job fits this kind now")
	b.get("/shop/messages/nothing").want(http.StatusNotFound)
	b.get("/shop/messages/test").want(http.StatusNotFound)
	c.wantTold("after all that trying", j.VisitID, "received waiting")
}

func TestTheDaysOfTheClockAreSet(t *testing.T) {
	b := server(t).as(owner)
	for _, c := range []struct{ still, first, field string }{{"", "10", "stillhere"}, {"7", "61", "firstride"}, {"-1", "10", "stillhere"}, {"x", "10", "stillhere"}} {
		p := b.post("/shop/messages", "version", "0", "stillhere", c.still, "firstride", c.first).want(http.StatusUnprocessableEntity)
		if p.wrong(c.field) == "" || p.value("firstride") != c.first {
			t.Errorf("%+v: %q beside it, %q kept", c, p.wrong(c.field), p.value("firstride"))
		}
	}
	b.post("/shop/messages", "version", "0", "stillhere", "5", "firstride", "0").wantTo("/shop/messages?done=days")
	b.post("/shop/messages", "version", "0", "stillhere", "9", "firstride", "9").want(http.StatusConflict)
	b.get("/shop").wantWords(".settings", "still here after 5 days; never first ride")
}

// Common practice (no source): a caller is told in one line, and one press logs it.
func TestACallerIsToldInOneLineAndOnePressKeepsIt(t *testing.T) {
	c := mailed(t)
	j := c.takeIn("Sill 34", dbtest.Now.Add(24*time.Hour))
	b, at := c.as(desk), visitPath(j.VisitID)
	line := "Weir Lane Cycles here: we have your Sill 34, promised for Wednesday 14 October, "
	p := b.get(at).want(http.StatusOK).wantWords("[aria-labelledby=says]", "“"+line).wantWords("[aria-labelledby=says]", "mail waits")
	text := p.Find(`[aria-labelledby=says] a[href^="sms:"]`).AttrOr("href", "")
	number, body, _ := strings.Cut(strings.TrimPrefix(text, "sms:"), "?body=")
	said, err := url.PathUnescape(body)
	if number != "07700900118" || !strings.HasPrefix(said, line) || err != nil || strings.ContainsAny(body, " +,:") {
		t.Errorf("the text message is %q, %v", text, err)
	}
	if href := p.Find(`[aria-labelledby=says] a[href^="tel:"]`).AttrOr("href", ""); href != "tel:07700900118" {
		t.Errorf("the number is %q", href)
	}
	form := p.Find(`form[action="` + at + `/told"]`)
	field := func(name string) string { return form.Find(`[name="`+name+`"]`).AttrOr("value", "") }
	press := []string{"intent", field("intent"), "kind", field("kind"), "message", field("message")}
	for range 2 {
		b.post(at+"/told", press...).wantTo(at + "?done=told#says")
	}
	c.wantTold("one press, sent twice", j.VisitID, "received dropped told by voice")
	b.get(at+"?done=told").wantWords("[role=status]", "kept that they were told").wantWords("[aria-labelledby=says]", "told by voice").wantWords("[aria-labelledby=says]", b.person.Name)
	if n := c.as(mechanic).get(at).want(http.StatusOK).Find(`form[action$="/told"]`).Length(); n != 0 {
		t.Error("a mechanic is asked to keep what was told")
	}
	c.as(mechanic).post(at+"/told", "kind", "received").want(http.StatusForbidden)
	b.post(at+"/told", "kind", "test").want(http.StatusConflict)
	b.post(at+"/told", "kind", "received", "message", "999999").want(http.StatusConflict)
}

func TestWhoSpokeOfWhatIsAskedNeedsNoMail(t *testing.T) {
	c := mailed(t)
	j, p, _ := c.proposed()
	c.wantTold("asked", j.VisitID, "go-ahead wanted waiting", "received waiting")
	b := c.as(desk)
	b.get(visitPath(j.VisitID)).wantWords("[aria-labelledby=says]", "We propose: new wipers, £26.00.")
	remind := func(who string) {
		t.Helper()
		b.post(fmt.Sprintf("/answers/%d/reminded", p.ID), "how", "by phone", "who", who).want(http.StatusSeeOther)
	}
	remind("")
	c.wantTold("nobody answered", j.VisitID, "go-ahead wanted waiting", "received waiting")
	remind("Odette")
	c.wantTold("spoken with", j.VisitID, "go-ahead wanted dropped told by voice", "received waiting")
}

func TestAMovedPromiseIsWrittenUnlessTheyKnow(t *testing.T) {
	c := mailed(t)
	j := c.takeIn("Sill 34", dbtest.Now.Add(24*time.Hour))
	b, at := c.as(desk), visitPath(j.VisitID)
	move := func(day string, more ...string) {
		t.Helper()
		version := b.get(at + "/promise").want(http.StatusOK).value("version")
		b.post(at+"/promise", append([]string{"version", version, "promise", "other", "promised", day, "reason", "wipers late", "press", "move"}, more...)...).wantTo(at)
	}
	move("2026-10-15T17:00")
	c.wantTold("moved", j.VisitID, "promise moved waiting", "received waiting")
	b.get(at).wantWords("[aria-labelledby=says]", "The new day is Thursday 15 October, 17:00.")
	move("2026-10-16T17:00", "told", "yes")
	c.wantTold("moved once more, and they know", j.VisitID, "promise moved dropped told by voice", "promise moved dropped overtaken", "received waiting")
}

// An act that is refused tells nobody.
func TestWhatIsRolledBackIsNotTold(t *testing.T) {
	c := mailed(t)
	j := c.takeIn("Sill 34", dbtest.Now.Add(24*time.Hour))
	err := pgx.BeginFunc(context.Background(), c.pool, func(tx pgx.Tx) error {
		by := dbtest.Act(t, tx, history.By{At: dbtest.Now, Roles: []string{desk}})
		if err := message.PostVisit(t.Context(), tx, by, message.Ready, j.VisitID, "1", time.Time{}); err != nil {
			return err
		}
		return fmt.Errorf("the act is refused")
	})
	if err == nil {
		t.Fatal("committed")
	}
	c.wantTold("rolled back", j.VisitID, "received waiting")
}
