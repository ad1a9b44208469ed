package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"testing"

	"damperdesk/internal/staff"
)

func TestAnOwnerAddsPeople(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	p := b.post("/people", "name", "Marit", "passphrase", "short").want(http.StatusUnprocessableEntity)
	if p.wrong("roles") == "" || p.wrong("passphrase") == "" || p.value("name") != "Marit" {
		t.Errorf("no roles and a short pass-phrase: %s", p.words("[role=alert]"))
	}
	intent := b.get("/people").want(http.StatusOK).intent("/people")
	var to string
	for range 2 {
		to = b.post("/people", "intent", intent, "name", "Marit", "roles", desk, "roles", mechanic, "passphrase", phrase).want(http.StatusSeeOther).to
	}
	who, err := staff.ByName(context.Background(), s.pool, "Marit")
	if err != nil || to != personPath(who.ID, "added") || !slices.Equal(who.Roles, []string{desk, mechanic}) {
		t.Fatalf("leads to %q; added %+v, %v", to, who, err)
	}
	b.get(to).want(http.StatusOK).wantWords("[role=status]", "Added").wantWords("h1", "Marit")
	b.get("/people").wantWords("tbody", "Marit").wantWords("tbody", "front desk")
	p = b.post("/people", "name", "MARIT", "roles", desk, "passphrase", phrase).want(http.StatusUnprocessableEntity)
	if p.wrong("name") == "" {
		t.Errorf("a name twice: %s", p.words("[role=alert]"))
	}
}

func TestAnOwnerChangesPeople(t *testing.T) {
	ctx, s := context.Background(), server(t)
	b, other := s.as(owner), s.as(mechanic)
	path := "/people/" + strconv.FormatInt(other.person.ID, 10)
	at := func() staff.Person {
		p, err := staff.Get(ctx, s.pool, other.person.ID)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	send := func(form string, fields ...string) *page {
		t.Helper()
		p := b.get(path).want(http.StatusOK)
		version := p.Find(`form[action="`+path+"/"+form+`"] input[name=version]`).AttrOr("value", "")
		return b.post(path+"/"+form, append(fields, "intent", p.intent(path+"/"+form), "version", version)...)
	}
	send("roles", "roles", desk).wantTo(path + "?done=roles")
	if !slices.Equal(at().Roles, []string{desk}) {
		t.Errorf("roles %v", at().Roles)
	}
	other.get("/me").want(http.StatusOK)
	send("sign-out").wantTo(path + "?done=sign-out")
	other.get("/me").want(http.StatusUnauthorized)
	send("passphrase", "passphrase", phrase).wantTo(path + "?done=passphrase")
	other.post("/sign-in", "name", other.person.Name, "passphrase", phrase).wantTo("/")

	wrong := send("leave", "on", "someday").want(http.StatusUnprocessableEntity)
	if wrong.wrong("on") == "" || wrong.value("on") != "someday" || wrong.Find("input[name=roles][checked]").Length() != 1 {
		t.Errorf("a last day that is none: %s", wrong.words("[role=alert]"))
	}
	send("leave", "on", "2026-10-16").wantTo(path + "?done=leave")
	other.get("/me").want(http.StatusUnauthorized)
	b.get("/people").wantWords("tbody", "left on 16 October")
	send("return").wantTo(path + "?done=return")
	other.post("/sign-in", "name", other.person.Name, "passphrase", phrase).wantTo("/")
}

func TestAChangeOverAnOlderVersionIsRefused(t *testing.T) {
	s := server(t)
	b, other := s.as(owner), s.as(mechanic)
	path := "/people/" + strconv.FormatInt(other.person.ID, 10)
	b.post(path+"/roles", "version", "1", "roles", desk).want(http.StatusSeeOther)
	b.post(path+"/roles", "version", "1", "roles", owner).want(http.StatusConflict).wantWords("[role=alert]", "Somebody else changed this")
}

func TestTheLastOwnerIsTold(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	path := "/people/" + strconv.FormatInt(b.person.ID, 10)
	b.post(path+"/leave", "version", "1", "on", "2026-10-13").want(http.StatusConflict).wantWords("[role=alert]", "Nobody else here is an owner")
	b.get("/people").want(http.StatusOK)
}
