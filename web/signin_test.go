package web

import (
	"context"
	"net/http"
	"testing"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/staff"
)

const phrase = "seven wet forks in a row"

func (s *site) employ(name string, roles ...string) (id int64) {
	s.t.Helper()
	s.write(func(tx pgx.Tx, by history.By) (err error) {
		id, err = staff.Add(context.Background(), tx, by, staff.New{Name: name, Roles: roles, Passphrase: phrase})
		return err
	})
	return id
}

func TestSignInAndOut(t *testing.T) {
	s := server(t)
	s.employ("Ines", mechanic)
	b := s.anybody()
	b.get("/me").want(http.StatusUnauthorized)
	asked := b.get("/me?x=1").want(http.StatusUnauthorized)
	if next := asked.value("next"); next != "/me?x=1" {
		t.Errorf("goes on to %q, want the page that was wanted", next)
	}
	wrong := b.post("/sign-in", "name", "Ines", "passphrase", "not this one", "next", "/me").want(http.StatusUnprocessableEntity)
	if wrong.wrong("passphrase") == "" || wrong.value("name") != "Ines" || wrong.value("passphrase") != "" || wrong.value("next") != "/me" {
		t.Errorf("after a wrong pass-phrase the page is %s", wrong.words("main"))
	}
	b.post("/sign-in", "name", "ines", "passphrase", phrase, "next", "/me").wantTo("/me")
	b.get("/me").want(http.StatusOK).wantWords("h1", "Ines")
	b.get("/sign-in").wantTo("/")
	token := b.token
	b.post("/sign-out").wantTo("/sign-in")
	b.token = token
	b.get("/me").want(http.StatusUnauthorized)
}

func TestTooManyTriesSayHowLongToWait(t *testing.T) {
	s := server(t)
	s.employ("Ines", mechanic)
	b := s.anybody()
	for range 4 {
		b.post("/sign-in", "name", "Ines", "passphrase", "not this one").want(http.StatusUnprocessableEntity)
	}
	b.post("/sign-in", "name", "Ines", "passphrase", phrase).want(http.StatusConflict).wantWords("[role=alert]", "Wait 1 second")
}

func TestASignInLeadsOnlyWithinTheApp(t *testing.T) {
	for next, want := range map[string]string{
		"/board?who=3": "/board?who=3", "": "/", "board": "/", "//elsewhere.example/": "/",
		"https://elsewhere.example/": "/", `/\elsewhere.example`: "/", "/\t/elsewhere.example": "/",
		"javascript:alert(1)": "/", "/a\r\nX: y": "/",
	} {
		if got := localPath(next); got != want {
			t.Errorf("next %q leads to %q, want %q", next, got, want)
		}
	}
}

func TestALostSignInKeepsTheTypedForm(t *testing.T) {
	s := server(t)
	s.employ("Ragna", owner)
	b := s.anybody()
	intent := uuid.NewString()
	fields := []string{"intent", intent, "roles", desk, "roles", mechanic, "version", "1"}
	lost := b.post("/people/7/roles?x=1", fields...).want(http.StatusUnauthorized).wantWords("[data-unsent]", "What you typed is kept")
	carried := []string{"name", "Ragna"}
	for _, in := range lost.Find("main input[type=hidden]").EachIter() {
		carried = append(carried, in.AttrOr("name", ""), in.AttrOr("value", ""))
	}
	again := b.post("/sign-in", append(carried, "passphrase", "not this one")...).want(http.StatusUnprocessableEntity)
	if n := again.Find(`input[name="kept.roles"]`).Length(); n != 2 {
		t.Errorf("after a wrong pass-phrase %d of 2 ticks are kept", n)
	}
	on := b.post("/sign-in", append(carried, "passphrase", phrase)...).want(http.StatusOK).wantWords("h1", "Signed in again")
	form := on.Find("main form")
	if to := form.AttrOr("action", ""); to != "/people/7/roles?x=1" {
		t.Errorf("goes on to %q", to)
	}
	var sent []string
	for _, in := range form.Find("input").EachIter() {
		sent = append(sent, in.AttrOr("name", "")+"="+in.AttrOr("value", ""))
	}
	want := []string{"intent=" + intent, "roles=" + desk, "roles=" + mechanic, "version=1"}
	if len(sent) != len(want) {
		t.Fatalf("would send %v, want %v", sent, want)
	}
	for i := range want {
		if sent[i] != want[i] {
			t.Errorf("would send %v, want %v", sent, want)
		}
	}
	b.get("/me").want(http.StatusOK)
}

func TestALostSignInNeverKeepsAPassphrase(t *testing.T) {
	s := server(t)
	s.employ("Ragna", owner)
	lost := s.anybody().post("/people", "name", "Marit", "passphrase", "a phrase of hers").want(http.StatusUnauthorized)
	if lost.Find(`[name^=kept]`).Length() != 0 || lost.Find("[data-unsent]").Length() != 0 {
		t.Errorf("kept of a form with a pass-phrase: %s", lost.words("main"))
	}
}

func TestWhoHasLeftIsSignedOut(t *testing.T) {
	s := server(t)
	s.as(owner)
	b := s.as(mechanic)
	b.get("/me").want(http.StatusOK)
	s.write(func(tx pgx.Tx, by history.By) error {
		return staff.Leave(context.Background(), tx, by, b.person.ID, b.person.Version, dbtest.Now)
	})
	b.get("/me").want(http.StatusUnauthorized)
}

func TestSignOutEverywhere(t *testing.T) {
	s := server(t)
	id := s.employ("Ines", mechanic)
	here, there := s.anybody(), s.anybody()
	for _, b := range []*browser{here, there} {
		b.post("/sign-in", "name", "Ines", "passphrase", phrase).wantTo("/")
	}
	me := here.get("/me").want(http.StatusOK)
	here.post("/me/sign-out-everywhere", "intent", me.intent("/me/sign-out-everywhere")).wantTo("/sign-in")
	here.get("/me").want(http.StatusUnauthorized)
	there.get("/me").want(http.StatusUnauthorized)
	if p, err := staff.Get(context.Background(), s.pool, id); err != nil || p.Epoch != 2 {
		t.Errorf("%+v, %v", p, err)
	}
}

func TestANewPassphraseSignsOutOtherDevices(t *testing.T) {
	s := server(t)
	s.employ("Ines", mechanic)
	here, there := s.anybody(), s.anybody()
	for _, b := range []*browser{here, there} {
		b.post("/sign-in", "name", "Ines", "passphrase", phrase).wantTo("/")
	}
	const fresh = "eight dry shocks in a crate"
	for _, c := range []struct{ now, fresh, again, field string }{
		{"not this one", fresh, fresh, "passphrase-now"},
		{phrase, fresh, fresh + "s", "passphrase-again"},
		{phrase, "short", "short", "passphrase"},
	} {
		p := here.post("/me/passphrase", "passphrase-now", c.now, "passphrase", c.fresh, "passphrase-again", c.again)
		if p.want(http.StatusUnprocessableEntity).wrong(c.field) == "" {
			t.Errorf("%+v: no sentence beside %s", c, c.field)
		}
		if p.Find("input[type=password][value!='']").Length() != 0 {
			t.Errorf("%+v: a pass-phrase came back", c)
		}
	}
	fields := []string{"intent", here.get("/me").intent("/me/passphrase"), "passphrase-now", phrase, "passphrase", fresh, "passphrase-again", fresh}
	for range 2 { // a second press leads to the same place
		here.post("/me/passphrase", fields...).wantTo("/me?done=passphrase")
	}
	other := append(fields[:4:4], "passphrase", phrase+" too", "passphrase-again", phrase+" too")
	here.post("/me/passphrase", other...).want(http.StatusConflict).wantWords(".problem", "This form was sent before with other contents")
	here.get("/me?done=passphrase").want(http.StatusOK).wantWords("[role=status]", "new pass-phrase")
	there.get("/me").want(http.StatusUnauthorized)
	there.post("/sign-in", "name", "Ines", "passphrase", fresh).wantTo("/")
}

func TestAStoredActTellsNothingOfAPassphrase(t *testing.T) {
	one := openly("/setup", map[string][]string{"name": {"Ines"}, "passphrase": {"a"}, "passphrase-again": {"a"}})
	two := openly("/setup", map[string][]string{"name": {"Ines"}, "passphrase": {"b"}, "passphrase-again": {"b"}})
	other := openly("/setup", map[string][]string{"name": {"Marit"}, "passphrase": {"a"}, "passphrase-again": {"a"}})
	if string(one) != string(two) || string(one) == string(other) {
		t.Error("the fingerprint depends on the pass-phrase, or not on the name")
	}
}
