package browsertest_test

import (
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/staff"
	"damperdesk/web/browsertest"
)

// firstRun is what a shop does on its first day, with nothing in the database:
// the owner lets themselves in with the one-time code, sets hours, terms and
// people, takes in a fork of a model that nobody has entered, and the mechanic
// gives the values of its manual at the bench.
func firstRun(t *testing.T, browser *browsertest.Browser) {
	toFirstTicket(t, browser, 768, 1024)
	d, boss := toFirstTicket(t, browser, 1440, 900)
	w := walk{front: boss.hand, owner: boss.hand, customer: d.sit(t, "", 390, 844), mechanic: d.sit(t, "", 768, 1024)}
	w.job, w.link = boss.job, boss.link
	w.owner.goTo("/board")
	w.mechanic.signIn("Anouk", "left over crankset")
	w.sheetOfUnknown()
	w.customer.goTo(w.link)
	w.customer.reads("h1", "is ready")
	w.customer.reads("main", "keep an eye on")
}

// firstDay is an owner on the way to the first ticket, whose hands are counted.
type firstDay struct {
	hand
	job, link              string
	screens, keys, presses int
}

func (o *firstDay) fill(selector, value string) {
	o.t.Helper()
	o.keys += utf8.RuneCountInString(value) + 1 // and the one that leads to the next field
	o.hand.fill(selector, value)
}

func (o *firstDay) press(selector string) {
	o.t.Helper()
	o.presses, o.screens = o.presses+1, o.screens+1
	o.hand.press(selector)
}

func (o *firstDay) choose(selector string) {
	o.t.Helper()
	o.presses++
	o.hand.choose(selector)
}

// How fast a person goes, from memory (no source): 5 characters a second, 2 s
// a press. Reading is not in it.
const (
	perKey   = time.Second / 5
	perPress = 2 * time.Second
	mostFor  = 10 * time.Minute
)

// toFirstTicket goes from the printed code to the ticket on paper.
func toFirstTicket(t *testing.T, browser *browsertest.Browser, width, height int) (desk, *firstDay) {
	pool := installed(t)
	var code string
	err := db.Write(t.Context(), pool, func(tx pgx.Tx) (err error) {
		code, err = staff.NewSetupCode(t.Context(), tx, time.Now())
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	d := serve(t, browser, pool, folder(t))
	o := &firstDay{hand: d.sit(t, "", width, height), screens: 1}
	o.setUp(code)
	if width > 1024 {
		for _, empty := range []string{"/board", "/bench", "/models", "/drop-off", "/shop", "/shop/hours", "/shop/terms", "/people"} {
			o.look(view{"an owner with nothing yet", empty, nil})
		}
	}
	o.openShop()
	o.firstFork()
	took := time.Duration(o.keys)*perKey + time.Duration(o.presses)*perPress
	t.Logf("to the first ticket, %d px wide: %d screens, %d keys, %d presses, %v of at most %v", width, o.screens, o.keys, o.presses, took, mostFor)
	if took > mostFor {
		t.Errorf("%d keys and %d presses take %v, want at most %v", o.keys, o.presses, took, mostFor)
	}
	return d, o
}

// setUp has the code wrong first, which lets nobody in.
func (o *firstDay) setUp(code string) {
	o.goTo("/")
	o.reads("h1", "Set up")
	o.holds("set-up")
	for field, value := range map[string]string{
		"code": "0000-0000-0000-0000", "shop": "The Fork Room", "zone": "london", "currency": "GBP",
		"name": "Berta", "passphrase": "seven quiet spokes", "passphrase-again": "seven quiet spokes",
	} {
		o.fill(`main [name="`+field+`"]`, value)
	}
	o.press("main form .main")
	o.reads("#f-code-error", "code")
	o.holds("set-up refused")
	o.fill(`[name="code"]`, code)
	o.fill(`[name="passphrase"]`, "seven quiet spokes")
	o.fill(`[name="passphrase-again"]`, "seven quiet spokes")
	o.press("main form .main")
	o.reads("h1", "The shop")
}

// openShop does the three things that come before the first ticket.
func (o *firstDay) openShop() {
	o.goTo("/shop")
	o.press(`[name="usual"]`)
	o.reads(".start", "Tuesday to Saturday 10:00 to 18:00")
	o.press(`.start a.button[href="/shop/terms"]`)
	o.fill(`[name="words"]`, "We ask before we do more than is on the ticket. Fetch your unit within 30 days of hearing that it is ready.")
	o.press("main form .main")
	o.reads(".start", "edition 1")
	o.press(`.start a.button[href="/people"]`)
	o.fill(`form[action="/people"] [name="name"]`, "Anouk")
	o.choose(`form[action="/people"] [name="roles"][value="mechanic"]`)
	o.fill(`form[action="/people"] [name="passphrase"]`, "left over crankset")
	o.press(`form[action="/people"] button.main`)
	o.reads("main", "Anouk")
	o.press(`nav a[href="/shop"]`)
	o.press(`.start a.main`)
}

// firstFork takes in a fork by its owner's words alone.
func (o *firstDay) firstFork() {
	newCustomer(o.hand)
	o.keys, o.presses = o.keys+60, o.presses+2 // name, phone and mail of somebody new
	o.fill(`[name="unit0.words"]`, "black air fork, 100 mm, no name on it")
	o.fill(`[name="unit0.rider"]`, "163 lb") // 73.9 kg, NIST SP 811
	o.choose(`[name="unit0.symptoms"]`)
	o.choose(`[name="unit0.services"][value="lower-leg"]`)
	o.choose(`[name="promise"]:not([value="other"])`)
	o.fill(`[name="terms"]`, "Ottoline Verne")
	o.press(`button[value="take in"]`)
	o.reads("h1", "Visit of Ottoline Verne")
	o.job = o.hand.link(`tbody a[href^="/jobs/"]`)
	link := o.hand.link(`a[href*="/c/"]`)
	o.link = link[strings.Index(link, "/c/"):]
	o.goTo(o.job + "/ticket")
	o.presses, o.screens = o.presses+2, o.screens+1 // the ticket, and print
	o.reads(".ticket", "73.9 kg")
}

// sheetOfUnknown signs a sheet that asks for everything: torques and amounts
// first need their value and source, and what this fork has not got is said not
// to apply.
func (w *walk) sheetOfUnknown() {
	h := w.mechanic
	h.goTo("/bench")
	h.press(`form[action="` + w.job + `/start"] button`)
	given := 0
	w.signSheet(func(title string) {
		if h.has(`form[action$="/value"]`) {
			given++
			value, low, high := "7.3", "6.8", "7.8"
			if strings.Contains(title, "oil") {
				value, low, high = "10", "9", "11"
				h.fill(`form[action$="/value"] [name="fluid"]`, "bath oil")
			}
			h.fill(`form[action$="/value"] [name="value"]`, value)
			h.fill(`form[action$="/value"] [name="low"]`, low)
			h.fill(`form[action$="/value"] [name="high"]`, high)
			h.choose(`form[action$="/value"] [name="source_kind"][value="document"]`)
			h.fill(`form[action$="/value"] [name="source"]`, "manual found inside the box, page 12")
			h.press(`form[action$="/value"] .main`)
		}
		if strings.Contains(title, "preload") {
			h.must(h.Do(openDetails("main form details")), "open otherwise")
			h.fill(`[name="outcome"]`, "does not apply")
			h.fill(`[name="reason"]`, "it has an air spring")
		}
		if h.has(`input[value="keep an eye on"]`) {
			h.choose(`input[value="keep an eye on"]`)
		}
	})
	if given != 4 {
		h.t.Errorf("values given at the bench for %d steps, want 4: two amounts, two torques", given)
	}
	w.prove(strings.Replace(w.job, "/jobs/", "/bench/", 1))
}
