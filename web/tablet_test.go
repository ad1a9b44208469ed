package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/staff"
)

const pin = "482915"

// enrolled is a browser on a tablet of that name; nobody is signed in on it.
func (s *site) enrolled(name string) *browser {
	s.t.Helper()
	b := s.as(owner)
	b.post("/tablets", "name", name).wantTo("/sign-in")
	if b.tablet == "" {
		s.t.Fatal("the tablet got no token")
	}
	return b
}

// pinned gives a person a PIN, and returns their id as forms send it.
func (s *site) pinned(p staff.Person) string {
	s.t.Helper()
	s.write(func(tx pgx.Tx, by history.By) error { return staff.SetPIN(context.Background(), tx, by, p.ID, pin) })
	return strconv.FormatInt(p.ID, 10)
}

// device is the tablet that a browser is.
func (b *browser) device() staff.Device {
	b.t.Helper()
	d, err := staff.DeviceByToken(context.Background(), b.pool, b.tablet)
	if err != nil {
		b.t.Fatal(err)
	}
	return d
}

func TestAnOwnerEnrolsATablet(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	wrong := b.post("/tablets", "name", " ").want(http.StatusUnprocessableEntity)
	if wrong.wrong("name") == "" || b.tablet != "" {
		t.Errorf("without a name: %s", wrong.words("main"))
	}
	signedIn := b.token
	intent := b.get("/tablets").want(http.StatusOK).intent("/tablets")
	b.post("/tablets", "intent", intent, "name", "stand by the window").wantTo("/sign-in")
	b.get("/board").want(http.StatusUnauthorized).wantWords("h1", "Who is at the bench?")
	b.token = signedIn
	b.get("/board").want(http.StatusUnauthorized)
	if d := b.device(); d.Name != "stand by the window" || d.EnrolledBy != b.person.Name {
		t.Errorf("enrolled %+v", d)
	}
	b.get("/sign-in").want(http.StatusOK).wantWords("header", "stand by the window")

	other := s.as(owner)
	taken := other.post("/tablets", "name", "Stand by the window").want(http.StatusUnprocessableEntity)
	if taken.wrong("name") != "Another tablet has that name." || taken.value("name") != "Stand by the window" {
		t.Errorf("a name twice: %q", taken.wrong("name"))
	}
	other.get("/tablets").wantWords("tbody", "stand by the window").wantWords("tbody", "enrolled today")
}

// A press that was sent twice enrols one tablet, which gets its token.
func TestEnrollingTwiceWithOnePress(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	intent := uuid.NewString()
	b.post("/tablets", "intent", intent, "name", "bench one").wantTo("/sign-in")
	first := b.tablet
	// The first answer was lost, and the owner signed in again.
	again := s.anybody()
	again.token = s.signedInAgain(b.person)
	again.post("/tablets", "intent", intent, "name", "bench one").wantTo("/sign-in")
	if again.tablet != first {
		t.Error("the second press got another token")
	}
}

func TestATabletIsNotEnrolledAsAnother(t *testing.T) {
	s := server(t)
	tab := s.enrolled("bench one")
	before := tab.device()
	tab.token = s.signedInAgain(s.as(owner).person)
	tab.post("/tablets", "name", "bench two").want(http.StatusConflict).wantWords("#content", "This device is a tablet already: bench one.")
	if after := tab.device(); after.ID != before.ID || after.Name != before.Name {
		t.Errorf("it was %v and is %v", before, after)
	}
}

// signedInAgain is the token of another sign-in of a person.
func (s *site) signedInAgain(p staff.Person) string {
	s.t.Helper()
	sessions := newSessions(s.pool, "")
	ctx, err := sessions.Load(context.Background(), "")
	if err != nil {
		s.t.Fatal(err)
	}
	sessions.Put(ctx, sessionStaff, p.ID)
	sessions.Put(ctx, sessionEpoch, p.Epoch)
	token, _, err := sessions.Commit(ctx)
	if err != nil {
		s.t.Fatal(err)
	}
	return token
}

func TestTheTabletsCookieIsForTheServerAlone(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	form := "name=bench+one&intent=" + uuid.NewString()
	req, err := http.NewRequest(http.MethodPost, s.url+"/tablets", strings.NewReader(form))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.AddCookie(&http.Cookie{Name: "desk", Value: b.token})
	answer, err := b.client.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	i := slices.IndexFunc(answer.Cookies(), func(c *http.Cookie) bool { return c.Name == tabletCookie })
	if i < 0 {
		t.Fatal("no cookie")
	}
	if c := answer.Cookies()[i]; !c.HttpOnly || c.SameSite != http.SameSiteLaxMode || c.Path != "/" || c.MaxAge < 86400*365 {
		t.Errorf("%+v", c)
	}
	var kept int
	if err := s.pool.QueryRow(t.Context(), "select count(*) from device where token_hash = $1", answer.Cookies()[i].Value).Scan(&kept); err != nil || kept != 0 {
		t.Errorf("%d tokens lie in the database as they are, %v", kept, err)
	}
}

func TestATabletIsRenamedAndRevoked(t *testing.T) {
	s := server(t)
	b, tab := s.as(owner), s.enrolled("bench one")
	path := tabletPath(tab.device().ID)
	b.get(path).want(http.StatusOK).wantWords("main", "nothing recorded on it yet")
	again := b.post(path+"/name", "version", "1", "name", "").want(http.StatusUnprocessableEntity)
	if again.wrong("name") == "" {
		t.Error("an empty name has no sentence beside it")
	}
	b.post(path+"/name", "version", "1", "name", "bench two").wantTo(path + "?done=name")
	b.post(path+"/revoke", "version", "1").want(http.StatusConflict)
	b.post(path+"/revoke", "version", "2").wantTo(path + "?done=revoke")
	b.get("/tablets").wantWords("tbody", "bench two").wantWords("tbody", "revoked")
	if p := b.get(path).want(http.StatusOK); p.Find("form.ruled").Length() != 0 {
		t.Errorf("a revoked tablet can be changed: %s", p.words("main"))
	}
	tab.get("/sign-in").want(http.StatusOK).wantWords("label", "Pass-phrase")
	b.get("/tablets/999999").want(http.StatusNotFound)
}

func TestASignInByPINEndsWithItsTablet(t *testing.T) {
	s := server(t)
	ines, boss := s.as(mechanic), s.as(owner)
	who, tab, other := s.pinned(ines.person), s.enrolled("bench one"), s.enrolled("bench two")
	in := func() {
		t.Helper()
		tab.post("/sign-in/pin", "who", who, "pin", pin).wantTo("/")
		tab.get("/me").want(http.StatusOK)
	}
	in()
	stolen := s.anybody()
	stolen.token = tab.token
	stolen.get("/me").want(http.StatusUnauthorized) // a cookie carried to another device
	tab.get("/me").want(http.StatusUnauthorized)    // and ended everywhere by that
	in()
	other.token = tab.token
	other.get("/me").want(http.StatusUnauthorized)
	in()
	boss.post(tabletPath(tab.device().ID)+"/revoke", "version", "1").want(http.StatusSeeOther)
	tab.get("/me").want(http.StatusUnauthorized).wantWords("label", "Pass-phrase")
	tab.token = s.signedInAgain(ines.person)
	tab.get("/me").want(http.StatusOK) // by pass-phrase any device will do
}

// A tablet is lost as whoever used it last left it.
func TestASignInByPassphraseEndsWithItsTabletToo(t *testing.T) {
	s := server(t)
	s.employ("Ragna", owner)
	boss, tab := s.as(owner), s.enrolled("bench one")
	tab.post("/sign-in", "name", "Ragna", "passphrase", phrase).wantTo("/")
	tab.get("/people").want(http.StatusOK)
	boss.post(tabletPath(tab.device().ID)+"/revoke", "version", "1").want(http.StatusSeeOther)
	tab.get("/people").want(http.StatusUnauthorized)
}

func TestASignInByPINLastsAShift(t *testing.T) {
	s := server(t)
	ines := s.as(mechanic)
	who, tab := s.pinned(ines.person), s.enrolled("bench one")
	before := time.Now().Add(-time.Second)
	tab.post("/sign-in/pin", "who", who, "pin", pin).wantTo("/")
	var n int
	if err := s.pool.QueryRow(t.Context(), "select count(*) from session where expires_at between $1 and $2",
		before.Add(pinShift), time.Now().Add(pinShift+time.Second)).Scan(&n); err != nil || n != 1 {
		t.Errorf("%d sign-ins end in %s, %v; want one", n, pinShift, err)
	}
}

func TestAPINIsNotEnoughToChangeWhoMayDoWhat(t *testing.T) {
	s := server(t)
	boss := s.as(owner, mechanic, desk)
	who, tab := s.pinned(boss.person), s.enrolled("bench one")
	tab.post("/sign-in/pin", "who", who, "pin", pin).wantTo("/")
	for _, rt := range routes {
		if len(rt.roles) == 0 || slices.Contains([]string{"/me/sign-out-everywhere"}, rt.pattern) {
			continue
		}
		ask := func() *page {
			if rt.method == http.MethodPost {
				return tab.post(filled(rt.pattern))
			}
			return tab.get(filled(rt.pattern))
		}
		p := ask()
		if asked := p.status == http.StatusForbidden && strings.Contains(p.words("main"), "A PIN is not enough"); asked != rt.phrase {
			t.Errorf("%s %s answers %d by PIN, needs the pass-phrase: %v", rt.method, rt.pattern, p.status, rt.phrase)
		}
	}
	for _, pattern := range []string{"/people", "/tablets", "/me/pin", "/me/passphrase"} {
		for _, rt := range routes {
			if strings.HasPrefix(rt.pattern, pattern) && !rt.phrase {
				t.Errorf("%s %s is open to a PIN", rt.method, rt.pattern)
			}
		}
	}
	p := tab.get("/people").want(http.StatusForbidden)
	if p.value("next") != "/people" || p.value("name") != boss.person.Name {
		t.Errorf("the way there: next %q, name %q", p.value("next"), p.value("name"))
	}
	tab.get("/me").want(http.StatusOK).wantWords("main", "You are signed in by PIN.")
}

func TestFromAPINToThePassphrase(t *testing.T) {
	s := server(t)
	id := s.employ("Ragna", owner)
	ragna, err := staff.Get(context.Background(), s.pool, id)
	if err != nil {
		t.Fatal(err)
	}
	who, tab := s.pinned(ragna), s.enrolled("bench one")
	tab.post("/sign-in/pin", "who", who, "pin", pin).wantTo("/")
	tab.get("/sign-in?with=passphrase&next=/people").want(http.StatusOK).wantWords("label", "Pass-phrase")
	tab.post("/sign-in", "name", "Ragna", "passphrase", phrase, "next", "/people").wantTo("/people")
	tab.get("/people").want(http.StatusOK)
	tab.post("/people", "name", "Odile", "roles", desk, "passphrase", phrase).want(http.StatusSeeOther)
	var on string
	err = s.pool.QueryRow(t.Context(), `select d.name from event e join intent i on i.id = e.intent_id join device d on d.id = i.device_id
		where e.kind = 'person added' and e.actor_id = $1`, id).Scan(&on)
	if err != nil || on != "bench one" {
		t.Errorf("recorded on %q, %v", on, err)
	}
}

func TestSettingOnesOwnPIN(t *testing.T) {
	s := server(t)
	id := s.employ("Ines", mechanic)
	b := s.anybody()
	b.post("/sign-in", "name", "Ines", "passphrase", phrase).wantTo("/")
	for _, c := range []struct{ phrase, pin, again, field, says string }{
		{"not this one", pin, pin, "passphrase-for-pin", "That is not your present pass-phrase."},
		{phrase, pin, "482916", "pin-again", "This differs from the PIN above."},
		{phrase, "12345", "12345", "pin", "Take 6 to 12 digits."},
		{phrase, "123456", "123456", "pin", "That is among the first that anybody would try: no runs, and nothing repeated."},
	} {
		p := b.post("/me/pin", "passphrase-for-pin", c.phrase, "pin", c.pin, "pin-again", c.again).want(http.StatusUnprocessableEntity)
		if got := p.wrong(c.field); got != c.says {
			t.Errorf("%+v: %q", c, got)
		}
		if p.Find("input[type=password][value!='']").Length() != 0 {
			t.Errorf("%+v: what is secret came back", c)
		}
	}
	fields := []string{"intent", b.get("/me").wantWords("h2", "A PIN for the tablets").intent("/me/pin"), "passphrase-for-pin", phrase, "pin", pin, "pin-again", pin}
	for range 2 {
		b.post("/me/pin", fields...).wantTo("/me?done=pin")
	}
	b.get("/me?done=pin").wantWords("[role=status]", "The PIN is set.").wantWords("h2", "Another PIN")
	other := append(fields[:4:4], "pin", "482916", "pin-again", "482916")
	b.post("/me/pin", other...).want(http.StatusConflict).wantWords(".problem", "This form was sent before with other contents")
	tab := s.enrolled("bench one")
	tab.post("/sign-in/pin", "who", strconv.FormatInt(id, 10), "pin", pin).wantTo("/")
}

// Who signed is always a person: a page that one opened is of no use to another
// who signed in since.
func TestAPageIsNotSentAsSomebodyElse(t *testing.T) {
	s := server(t)
	c := s.counter()
	ines, marit := s.as(mechanic), s.as(mechanic)
	who, next, tab := s.pinned(ines.person), s.pinned(marit.person), s.enrolled("bench one")
	path := "/jobs/" + strconv.FormatInt(c.benchJob().ID, 10)
	tab.post("/sign-in/pin", "who", who, "pin", pin).wantTo("/")
	form := tab.get(path).Find(`form[action="` + path + `/hold"]`)
	fields := []string{"kind", job.WaitingOnParts, "tray", "what Ines typed"}
	form.Find("input[type=hidden]").Each(func(_ int, field *goquery.Selection) {
		fields = append(fields, field.AttrOr("name", ""), field.AttrOr("value", ""))
	})
	tab.post("/sign-in/pin", "who", next, "pin", pin).wantTo("/")
	for _, wrong := range [][]string{fields, fields[2:]} { // also where the form would be shown again
		p := tab.post(path+"/hold", wrong...).want(http.StatusConflict).wantWords("[data-unsent]", marit.person.Name+" is signed in now")
		if strings.Contains(p.body, "what Ines typed") {
			t.Error("the next person reads what was typed")
		}
	}
	tab.post("/sign-out").wantTo("/sign-in")
	lost := tab.post(path+"/hold", fields...).want(http.StatusUnauthorized)
	kept := []string{"pin", pin}
	lost.Find(`form[action="/sign-in/pin"] input[type=hidden]`).Each(func(_ int, field *goquery.Selection) {
		kept = append(kept, field.AttrOr("name", ""), field.AttrOr("value", ""))
	})
	other := tab.post("/sign-in/pin", append(kept, "who", next)...).want(http.StatusOK).wantWords("[data-unsent]", "typed by somebody else")
	if strings.Contains(other.body, "what Ines typed") {
		t.Error("whoever signs in next reads what was typed")
	}
	tab.post("/sign-out").wantTo("/sign-in")
	tab.post("/sign-in/pin", append(kept, "who", who)...).want(http.StatusOK).wantWords("button", "Send it now")
}
