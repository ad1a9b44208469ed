package browsertest_test

import (
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/staff"
	"damperdesk/web/browsertest"
)

// firstRun is what a shop does on its first day, with nothing in the database:
// the owner lets themselves in with the one-time code, adds a mechanic, takes
// in a fork of a model that nobody has entered, and the mechanic gives the
// values of its manual at the bench.
func firstRun(t *testing.T, browser *browsertest.Browser) {
	pool := installed(t)
	var code string
	err := db.Write(t.Context(), pool, func(tx pgx.Tx) (err error) {
		code, err = staff.NewSetupCode(t.Context(), tx, time.Now())
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	d := serve(t, browser, pool)
	boss := d.sit(t, "", 1440, 900)
	boss.goTo("/")
	boss.reads("h1", "Set up")
	boss.holds("set-up")
	for field, value := range map[string]string{
		"code": "0000-0000-0000-0000", "shop": "The Fork Room", "zone": "Europe/London", "currency": "GBP",
		"name": "Berta", "passphrase": "seven quiet spokes", "passphrase-again": "seven quiet spokes",
	} {
		boss.fill(`main [name="`+field+`"]`, value)
	}
	boss.press("main form .main")
	boss.reads("#f-code-error", "code") // the wrong code lets nobody in
	boss.holds("set-up refused")
	boss.fill(`[name="code"]`, code)
	boss.fill(`[name="passphrase"]`, "seven quiet spokes")
	boss.fill(`[name="passphrase-again"]`, "seven quiet spokes")
	boss.press("main form .main")
	boss.signIn("Berta", "seven quiet spokes")

	for _, empty := range []string{"/board", "/bench", "/models", "/drop-off", "/shop", "/people"} {
		boss.look(view{"an owner with nothing yet", empty, nil})
	}
	boss.fill(`form[action="/people"] [name="name"]`, "Anouk")
	boss.choose(`form[action="/people"] [name="roles"][value="mechanic"]`)
	boss.fill(`form[action="/people"] [name="passphrase"]`, "left over crankset")
	boss.press(`form[action="/people"] button.main`)
	made, err := browsertest.Eval[string](boss.Tab, `document.querySelector("main").textContent`)
	boss.must(err, "read the page of people")
	if !strings.Contains(made, "Anouk") {
		t.Fatalf("Anouk is not among the people:\n%s", made)
	}
	w := walk{front: boss, owner: boss, customer: d.sit(t, "", 390, 844), mechanic: d.sit(t, "", 768, 1024)}
	w.mechanic.signIn("Anouk", "left over crankset")
	w.unknownFork()
	w.sheetOfUnknown()
	w.customer.goTo(w.link)
	w.customer.reads("h1", "is ready")
	w.customer.reads("main", "keep an eye on")
}

// unknownFork takes in a fork by its owner's words alone, promised for a time
// that is typed, since a new shop has no hours yet.
func (w *walk) unknownFork() {
	h := w.front
	h.goTo("/drop-off")
	newCustomer(h)
	h.fill(`[name="unit0.words"]`, "black air fork, 100 mm, no name on it")
	h.fill(`[name="unit0.rider"]`, "163 lb") // 73.9 kg, NIST SP 811
	h.choose(`[name="unit0.symptoms"]`)
	h.choose(`[name="unit0.services"][value="lower-leg"]`)
	h.choose(`[name="promise"][value="other"]`)
	h.fill(`[name="promised"]`, time.Now().AddDate(0, 0, 3).Format(time.DateOnly)+"T17:00")
	h.press(`button[value="take in"]`)
	h.reads("h1", "Visit of Ottoline Verne")
	w.job = h.link(`tbody a[href^="/jobs/"]`)
	link := h.link(`a[href*="/c/"]`)
	w.link = link[strings.Index(link, "/c/"):]
	w.owner.goTo("/board")
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
