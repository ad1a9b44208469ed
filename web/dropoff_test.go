package web

import (
	"context"
	"fmt"
	"net/http"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
	"damperdesk/internal/spec"
)

// frontDesk is a shop with services, hours, terms and one customer with a fork.
type frontDesk struct {
	*browser
	customer, fork int64
}

func newFrontDesk(t *testing.T) frontDesk {
	t.Helper()
	s := server(t)
	c := frontDesk{browser: s.as(desk)}
	ctx := context.Background()
	s.write(func(tx pgx.Tx, by history.By) (err error) {
		if err := procedure.Install(ctx, tx, by); err != nil {
			return err
		}
		var week []shop.Opening
		for day := time.Monday; day <= time.Saturday; day++ {
			week = append(week, shop.Opening{Weekday: day, OpenMin: 9 * 60, CloseMin: 17 * 60})
		}
		if err := shop.SetHours(ctx, tx, by, nil, week); err != nil {
			return err
		}
		if _, err := shop.SetTerms(ctx, tx, by, 0, "We look after it."); err != nil {
			return err
		}
		c.customer, err = customer.Add(ctx, tx, by, customer.Details{Name: "Odette Marsh", Phone: "07700 900118"})
		if err != nil {
			return err
		}
		c.fork, err = customer.AddUnit(ctx, tx, by, c.customer, customer.UnitDetails{Kind: "fork", ModelWords: "Tindra Lode", Serial: "TL-20418"})
		return err
	})
	return c
}

func (c frontDesk) id(n int64) string { return strconv.FormatInt(n, 10) }

// fields is a visit of the known fork, with changes after it.
func (c frontDesk) fields(changes ...string) []string {
	form := []string{
		"press", "take in", "units", "1", "customer", c.id(c.customer), "unit0.unit", c.id(c.fork),
		"unit0.services", "lower-leg", "unit0.symptoms", "sticky", "promise", "2026-10-15T16:00:00Z", "termsid", "1", "terms", "Odette Marsh",
	}
	for i := 0; i+1 < len(changes); i += 2 {
		found := false
		for k := 0; k+1 < len(form); k += 2 {
			if form[k] == changes[i] {
				form[k+1], found = changes[i+1], true
			}
		}
		if !found {
			form = append(form, changes[i], changes[i+1])
		}
	}
	return form
}

func TestDropOffOfAKnownFork(t *testing.T) {
	c := newFrontDesk(t)
	p := c.get("/drop-off?who=marsh").want(200)
	p.wantWords("#found", "Odette Marsh")
	p.wantWords(".stub", "Thu 15 Oct, 17:00") // dbtest.Now is a Tuesday; Wednesday and Thursday close at 17:00
	p = c.get("/drop-off/find?units=1&customer=" + c.id(c.customer)).want(200)
	p.wantWords("fieldset", "Tindra Lode")
	if p.Find("html > head > *").Length() > 0 || p.Find("main").Length() > 0 {
		t.Error("what find.js asks for is a whole page, want a part")
	}
	p = c.post("/drop-off", c.fields("unit0.rider", "11st 9lb", "limit", "£150", "came", "counter", "left", "tube strap")...).want(303)
	if !strings.HasPrefix(p.to, "/visits/") {
		t.Fatalf("leads to %q, want the visit", p.to)
	}
	p = c.get(p.to).want(200)
	p.wantWords("main", "Visit of Odette Marsh")
	p.wantWords("main", "up to £150.00 without asking")
	p.wantWords("main", "Promised Thu 15 Oct, 17:00.")
	p.wantWords("tbody tr", "Tindra Lode")
	rows, err := job.Board(context.Background(), c.pool, job.BoardFilter{})
	if err != nil || len(rows) != 1 {
		t.Fatalf("the board has %+v, %v; want one job", rows, err)
	}
	j, err := job.Get(context.Background(), c.pool, rows[0].ID)
	// 11 stone 9 pounds are 163 lb; 163 × 0.45359237 kg (NIST SP 811) = 73.94 kg.
	if err != nil || j.RiderKG == nil || *j.RiderKG < 73.93 || *j.RiderKG > 73.94 || j.RiderEntered != "11st 9lb" {
		t.Errorf("the job's rider = %v, %q, %v", j.RiderKG, j.RiderEntered, err)
	}
	if again := c.get("/drop-off?customer=" + c.id(c.customer)).want(200); !strings.Contains(again.words("#units"), "is here already, on ticket") {
		t.Errorf("the fork is offered although it is here: %q", again.words("#units fieldset"))
	}
}

func TestDropOffOfSomebodyNewWithTwoUnits(t *testing.T) {
	c := newFrontDesk(t)
	p := c.post("/drop-off", c.fields("press", "add", "customer", "new", "name", "Noor Ashby", "unit0.unit", "new", "unit0.words", "grey fork")...).want(200)
	if p.value("units") != "2" || p.Find(`[name="unit1.kind"]`).Length() != 1 {
		t.Errorf("units %q after adding one, want a second to fill in", p.value("units"))
	}
	if p.value("name") != "Noor Ashby" || p.value("unit0.words") != "grey fork" {
		t.Errorf("name %q, words %q: what was typed is gone", p.value("name"), p.value("unit0.words"))
	}
	p = c.post("/drop-off", c.fields("units", "2", "customer", "new", "name", "Noor Ashby", "terms", "Noor Ashby",
		"unit0.unit", "new", "unit0.kind", "fork", "unit0.words", "grey fork",
		"unit1.unit", "new", "unit1.kind", "rear shock", "unit1.words", "coil shock", "unit1.complaint", "squeaks",
		"unit1.services", "other")...).want(303)
	p = c.get(p.to).want(200)
	if n := p.Find(".visit tbody tr").Length(); n != 2 {
		t.Errorf("the visit has %d jobs, want 2", n)
	}
}

func TestDropOffSaysEverythingThatIsWrongAndKeepsIt(t *testing.T) {
	c := newFrontDesk(t)
	p := c.post("/drop-off", "press", "take in", "units", "1", "who", "mar", "limit", "1,234", "promised", "yesterday", "unit0.rider", "heavy",
		"unit0.symptoms", "dives", "termsid", "1", "unit0.complaint", "like gravel").want(422)
	for field, says := range map[string]string{
		"customer": "Find the customer", "limit": "could mean 1234 or 1.234", "promised": "Say a day and a time",
		"unit0.unit": "Choose which unit", "unit0.rider": "type a weight", "unit0.services": "at least one service", "terms": "who accepted",
	} {
		if got := p.wrong(field); !strings.Contains(got, says) {
			t.Errorf("beside %s stands %q, want %q", field, got, says)
		}
	}
	if p.value("limit") != "1,234" || p.words(`[name="unit0.complaint"]`) != "like gravel" || p.value("who") != "mar" ||
		p.Find(`[name="unit0.symptoms"][value=dives][checked]`).Length() != 1 {
		t.Error("what was typed is gone")
	}
	if rows, err := job.Board(context.Background(), c.pool, job.BoardFilter{}); err != nil || len(rows) != 0 {
		t.Errorf("%d jobs stored, %v; want none", len(rows), err)
	}
}

func TestDropOffRefusesTheServiceOfAnotherSpring(t *testing.T) {
	c := newFrontDesk(t)
	c.write(func(tx pgx.Tx, by history.By) error {
		model, err := spec.AddModel(context.Background(), tx, by, spec.Model{Kind: "fork", Maker: "Halvard", Name: "Sill", Spring: "air", Damper: "sealed"})
		if err != nil {
			return err
		}
		c.fork, err = customer.AddUnit(context.Background(), tx, by, c.customer, customer.UnitDetails{Kind: "fork", ModelID: model})
		return err
	})
	p := c.post("/drop-off", c.fields("unit0.services", "coil-spring")...).want(http.StatusUnprocessableEntity)
	if got, want := p.wrong("unit0.services"), "“Coil-spring service” is not for a fork with an air spring: “Air-spring service” fits it."; got != want {
		t.Errorf("beside the services stands %q, want %q", got, want)
	}
	for _, marked := range []string{`[name="unit0.unit"][value="` + c.id(c.fork) + `"][data-spring="air"]`, `[value="coil-spring"][data-for-spring="coil"]`} {
		if p.Find(marked).Length() != 1 {
			t.Errorf("the page has no %s for its stylesheet to go by", marked)
		}
	}
	c.post("/drop-off", c.fields("unit0.services", "air-spring")...).want(http.StatusSeeOther)
}

func TestDropOffAsksAboutASerialThatAnotherUnitHas(t *testing.T) {
	c := newFrontDesk(t)
	another := func(changes ...string) *page {
		return c.post("/drop-off", c.fields(append([]string{"customer", "new", "name", "Noor Ashby", "unit0.unit", "new",
			"unit0.kind", "fork", "unit0.words", "grey fork", "unit0.serial", "tl 20418"}, changes...)...)...)
	}
	p := another().want(http.StatusUnprocessableEntity)
	if got := p.wrong("unit0.serial"); !strings.HasPrefix(got, "The Tindra Lode of Odette Marsh has this serial.") || p.value("unit0.serial") != "tl 20418" {
		t.Errorf("beside the serial %q stands %q", p.value("unit0.serial"), got)
	}
	if p.Find(`[name="unit0.serialsure"]`).Length() != 1 {
		t.Error("nothing to confirm it with")
	}
	another("unit0.kind", "rear shock", "unit0.services", "other", "unit0.serialsure", "").want(http.StatusSeeOther)
	p = another("name", "Ash Noorby", "terms", "Ash Noorby", "unit0.serialsure", "yes").want(http.StatusSeeOther)
	if n := c.get(p.to).Find(".visit tbody tr").Length(); n != 1 {
		t.Errorf("%d jobs once it is confirmed, want 1", n)
	}
}

func TestDropOffAsksAboutAnUnusualWeight(t *testing.T) {
	c := newFrontDesk(t)
	p := c.post("/drop-off", c.fields("unit0.rider", "171")...).want(422)
	if !strings.Contains(p.wrong("unit0.rider"), "Really 171 kg?") || p.Find(`[name="unit0.ridersure"]`).Length() != 1 {
		t.Errorf("beside the weight stands %q, want a question and a box to tick", p.wrong("unit0.rider"))
	}
	c.post("/drop-off", c.fields("unit0.rider", "171", "unit0.ridersure", "yes")...).want(303)
}

func TestDropOffPressedTwiceIsOneVisit(t *testing.T) {
	c := newFrontDesk(t)
	form := append(c.fields(), "intent", "6ba7b810-9dad-11d1-80b4-00c04fd430c8")
	first := c.post("/drop-off", form...).want(303)
	c.post("/drop-off", form...).wantTo(first.to)
}

func TestDropOffBeginsAtTheNameAndKnowsTheOnlyUnit(t *testing.T) {
	c := newFrontDesk(t)
	if p := c.get("/drop-off").want(200); p.Find("input[name=who][autofocus]").Length() != 1 {
		t.Error("the page does not begin at the name")
	}
	p := c.get("/drop-off?customer=" + c.id(c.customer)).want(200)
	if got := p.Find("input[name='unit0.unit'][checked]").AttrOr("value", ""); got != c.id(c.fork) {
		t.Errorf("unit %q is chosen, want the only one, %d", got, c.fork)
	}
	c.post("/drop-off", c.fields()...).want(303)
	p = c.get("/drop-off?customer=" + c.id(c.customer)).want(200)
	if got := p.Find("input[name='unit0.unit'][checked]").Length(); got != 0 {
		t.Errorf("%d units are chosen while the only one is here", got)
	}
}

// Who reads a serial at the counter means that unit.
func TestDropOffTakesTheUnitThatWasFound(t *testing.T) {
	c := newFrontDesk(t)
	var shock int64
	c.write(func(tx pgx.Tx, by history.By) (err error) {
		shock, err = customer.AddUnit(context.Background(), tx, by, c.customer, customer.UnitDetails{Kind: "rear shock", ModelWords: "coil shock", Serial: "QX-4471"})
		return err
	})
	found := c.get("/drop-off/find?units=1&who=qx4471").want(200).Find("input[name=customer]").First()
	at := found.AttrOr("data-find", "") + "&customer=" + found.AttrOr("value", "")
	if got := c.get(at).want(200).Find("input[name='unit0.unit'][checked]").AttrOr("value", ""); got != c.id(shock) {
		t.Errorf("unit %q is chosen, want the one with that serial, %d", got, shock)
	}
}

func TestFindWithoutScriptStoresNothing(t *testing.T) {
	c := newFrontDesk(t)
	p := c.post("/drop-off", "press", "find", "who", "07700 900 118", "units", "1", "left", "lamp").want(200)
	p.wantWords("#found", "Found 1 Odette Marsh")
	if p.value("left") != "lamp" {
		t.Error("what was typed is gone")
	}
	if first := p.Find("form[action='/drop-off'] button:not([type])").First(); first.AttrOr("value", "") != "find" {
		t.Errorf("Enter presses %q, want the button that stores nothing", first.AttrOr("value", ""))
	}
}

func TestTicketAndCustomersAddress(t *testing.T) {
	c := newFrontDesk(t)
	visit := c.post("/drop-off", c.fields("unit0.symptoms", "stuck-down")...).want(303).to
	p := c.get(visit).want(200)
	old := p.Find("#content a[href*='/c/']").AttrOr("href", "")
	if !strings.HasPrefix(old, c.url+"/c/") {
		t.Fatalf("the customer's address is %q", old)
	}
	rows, err := job.Board(context.Background(), c.pool, job.BoardFilter{})
	if err != nil || len(rows) != 1 {
		t.Fatal(rows, err)
	}
	number := strconv.Itoa(rows[0].Number)
	c.get("/tickets/" + number).wantTo("/jobs/" + c.id(rows[0].ID))
	c.get("/tickets/999999").want(404)
	c.get("/tickets/99999999999").want(404)
	paper := c.get("/jobs/" + c.id(rows[0].ID) + "/ticket").want(200)
	for _, words := range []string{number, "promised Thu 15 Oct, 17:00", "Tindra Lode", "TL-20418", "stuck down", "ask for everything", "accepted by Odette Marsh"} {
		paper.wantWords(".ticket", words)
	}
	paper.wantWords(".ticket .caution", "trapped pressure")
	paper.wantWords(".label", "Marsh")
	paper.wantWords(".label", "Tindra Lode")
	if n := paper.Find("svg.qr path[d]").Length(); n != 2 {
		t.Errorf("%d QR codes on paper, want 2", n)
	}
	c.post(visit + "/link").wantTo(visit)
	if fresh := c.get(visit).Find("#content a[href*='/c/']").AttrOr("href", ""); fresh == old || fresh == "" {
		t.Errorf("the new address is %q, the old one %q", fresh, old)
	}
	c.anybody().get(strings.TrimPrefix(old, c.url)).want(404)
}

// A symptom without its row in the stylesheet would ask about everything at once.
func TestQuestionsAreShownWithTheirSymptomAlone(t *testing.T) {
	look, err := os.ReadFile("../static/look.css")
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range job.Symptoms {
		if row := fmt.Sprintf(`.asks:has([value="%[1]s"]:not(:checked)) ~ .of-%[1]s`, s.Code); !strings.Contains(string(look), row) {
			t.Errorf("the stylesheet has no %s", row)
		}
	}
}
