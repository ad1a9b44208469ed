package browsertest_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"damperdesk/web/browsertest"
)

// The whole job without a single script, as the front desk, a mechanic and the
// customer see it on a tablet. The owner's board runs its own, and follows.
func withoutScripts(t *testing.T, d desk) {
	w := walk{
		front:    d.sit(t, "Odile", 768, 1024),
		owner:    d.sit(t, "Ragna", 1440, 900),
		mechanic: d.sit(t, "Ines", 768, 1024),
		customer: d.sit(t, "", 390, 844),
	}
	for _, h := range []hand{w.front, w.mechanic, w.customer} {
		h.must(h.WithoutScripts(), "turn scripts off")
	}
	w.front.goTo("/board")
	if !w.front.has("[data-keys-switch][hidden]") {
		t.Fatal("scripts run though they are turned off")
	}
	w.front.goTo("/drop-off")
	newCustomer(w.front)
	w.dropOff()
	w.queue()
	w.bench()
	w.handOver()
}

func newCustomer(h hand) {
	h.choose(`#found input[name="customer"][value="new"]`)
	h.must(h.Do(openDetails("#found details")), "open the fields of somebody new")
	h.fill(`[name="name"]`, "Ottoline Verne")
	h.fill(`[name="phone"]`, "07700 900 731")
	h.fill(`[name="mail"]`, "ottoline.verne@example.com")
	for end := time.Now().Add(5 * time.Second); h.has("[aria-busy]") && time.Now().Before(end); {
		time.Sleep(20 * time.Millisecond) // their units are on the way
	}
}

// walk is one job on its way through the shop.
type walk struct {
	front, owner, mechanic, customer hand

	job, number, link string
}

// dropOff fills the page for a fork of the library that was not here before.
// Units as people type them: common practice (no source).
func (w *walk) dropOff() {
	h := w.front
	h.wait("#units", "Another unit", 3*time.Second)
	h.choose(`[name="unit0.unit"][value="new"]`)
	model, err := browsertest.Eval[string](h.Tab, `[...document.querySelectorAll('[name="unit0.model"] option')].find(o => o.text.includes("Sill"))?.value ?? ""`)
	h.must(err, "find the model")
	h.fill(`[name="unit0.model"]`, model)
	h.fill(`[name="unit0.serial"]`, "HS-"+time.Now().Format("150405.000"))
	h.fill(`[name="unit0.rider"]`, "1,234")
	h.choose(`[name="unit0.symptoms"]`)
	h.choose(`[name="unit0.services"][value="lower-leg"]`)
	h.fill(`[name="unit0.complaint"]`, "dry over the first two centimetres")
	h.choose(`[name="promise"]:not([value="other"])`)
	h.fill(`[name="limit"]`, "£150")
	h.fill(`[name="terms"]`, "the rider")
	h.press(`button[value="take in"]`)

	// An ambiguous number is refused beside its field, and the rest is kept.
	h.reads(`#f-unit0-rider-error`, "1")
	kept, err := browsertest.Eval[string](h.Tab, `document.querySelector('[name="unit0.complaint"]').value`)
	h.must(err, "read the complaint")
	if kept != "dry over the first two centimetres" {
		h.t.Errorf("the complaint was not kept: %q", kept)
	}
	h.fill(`[name="unit0.rider"]`, "11st 9lb")
	h.press(`button[value="take in"]`)
	h.reads("h1", "Visit of")

	w.job = h.link(`tbody a[href^="/jobs/"]`)
	w.number, err = h.Text(`tbody th.no a`)
	h.must(err, "read the ticket number")
	link := h.link(`a[href*="/c/"]`)
	w.link = link[strings.Index(link, "/c/"):]
	h.goTo(w.job + "/ticket")
	h.reads(".ticket", w.number)
	h.reads(".ticket", "73.9 kg") // 11 st 9 lb by the pound of 0.45359237 kg, NIST SP 811
	if !h.has(".ticket svg.qr path") {
		h.t.Error("the ticket has no QR code")
	}
	w.customer.goTo(w.link)
	w.customer.reads("h1", "is with us")
}

// queue puts the job in line while the owner's board shows it.
func (w *walk) queue() {
	w.owner.goTo("/board")
	w.owner.reads(".board", w.number)
	w.front.goTo(w.job)
	w.front.press(`button[value="in the queue"]`)
	took := w.owner.wait(w.row(), "in the queue", 2*time.Second)
	w.front.t.Logf("the board followed %v after the page of the desk was there", took.Round(time.Millisecond))
	w.customer.goTo(w.link)
	w.customer.reads("h1", "waits its turn")
}

func (w *walk) row() string { return `tr:has(a[href="` + w.job + `"])` }

// bench signs the whole sheet, with a slip that is crossed out and an amount
// outside its window.
func (w *walk) bench() {
	h := w.mechanic
	h.goTo("/bench")
	h.press(`form[action="` + w.job + `/start"] button`)
	w.owner.wait(w.row(), "on the bench", 2*time.Second)
	slip, over := false, false
	w.signSheet(func(title string) {
		if strings.Contains(title, "Wash") && !slip {
			slip = true
			w.crossOut()
		}
		if strings.Contains(title, "oil in, rider") && !over {
			over = true
			h.fill(`main form [name="value-other"]`, "14.5")
			h.press(".signbar .main")
			h.reads("#f-reason-error", "14.5 mL is outside 9 to 11 mL: say why.")
			h.fill(`[name="reason"]`, "some ran past the shaft; topped up")
		}
	})
	if !slip || !over {
		h.t.Errorf("crossed out: %v, outside the window: %v; want both", slip, over)
	}
	w.prove(strings.Replace(w.job, "/jobs/", "/bench/", 1))
	w.customer.reads(".measured", "14.5 mL")
	w.customer.reads(".measured", "some ran past the shaft")
}

// signSheet presses through the sheet until no step is left. special sees each
// page, by its heading, before it is filled.
func (w *walk) signSheet(special func(title string)) {
	h := w.mechanic
	h.t.Helper()
	if h.has("main a.main") {
		h.press("main a.main")
	}
	for presses := 0; ; presses++ {
		path, err := h.Path()
		h.must(err, "where is the mechanic")
		if !strings.Contains(path, "/steps/") {
			h.t.Logf("signed with %d presses", presses)
			return
		}
		title, err := h.Text("h1")
		h.must(err, "read the heading")
		if presses > 70 {
			h.t.Fatalf("%d presses, and %q is still to sign", presses, title)
		}
		h.stand()
		special(title)
		if !strings.Contains(h.path(), "/steps/") {
			return
		}
		h.must(fillStep(h), "fill "+title)
		h.press(".signbar .main")
		if after, _ := h.Path(); after == path {
			text, _ := h.Text("main")
			h.t.Fatalf("%q was not signed:\n%s", title, text)
		}
	}
}

// crossOut takes the first sign-off of the sheet back and signs it again, then
// goes on where it was.
func (w *walk) crossOut() {
	h := w.mechanic
	here, err := h.Path()
	h.must(err, "where is the mechanic")
	sheet, _, _ := strings.Cut(here, "/steps/")
	h.goTo(sheet)
	h.press(`.sheet a[href*="/steps/"]`)
	h.must(h.Do(openDetails("main details")), "open crossing out")
	h.fill(`[name="reason"]`, "looked at the wrong fork")
	h.press(`button[name="signoff"]`)
	h.goTo(sheet)
	h.reads("main", "crossed out")
	h.press("main a.main")
	h.must(fillStep(h), "fill the step again")
	h.press(".signbar .main")
	h.goTo(here)
}

// fillStep answers what a step asks as an ordinary service would: the first
// grade of a scale, the expected value, no second thoughts.
func fillStep(h hand) error {
	_, err := browsertest.Eval[bool](h.Tab, `(() => {
		const names = new Set([...document.querySelectorAll("main form input[type=radio]")].map(i => i.name));
		for (const name of names) {
			if (document.querySelector('main form [name="' + name + '-other"]')?.value) continue;
			const of = [...document.querySelectorAll('main form input[type=radio]')].filter(i => i.name === name && !i.disabled);
			if (of.length && !of.some(i => i.checked)) of[0].click();
		}
		for (const field of document.querySelectorAll("main form [name=value], main form [name=count], main form input[name$='.value'], main form input[name$='.count']")) {
			if (field.type !== "radio" && field.type !== "hidden" && field.value === "") field.value = "5";
		}
		for (const words of document.querySelectorAll("main form textarea")) {
			if (words.value === "") words.value = "It is smooth again.";
		}
		return true;
	})()`)
	return err
}

// prove writes the note anew and makes the job ready.
func (w *walk) prove(sheet string) {
	h := w.mechanic
	h.goTo(sheet)
	h.fill(`[name="note"]`, "Your top two centimetres were dry; it is smooth again.")
	h.press(`form[action$="/note"] button`)
	h.press(`form[action$="/ready"] button`)
	w.owner.wait(w.row(), "ready", 2*time.Second)
	c := w.customer
	c.goTo(w.link)
	c.reads("h1", "is ready")
	c.reads("blockquote", "smooth again")
	c.reads(".card", "left with")
	c.reads("main", "Do not ride")
	c.goTo(w.link)
	c.reads("h1", "is ready")
}

// handOver writes the bill from the price list, takes what is owed, and gives
// the fork back.
func (w *walk) handOver() {
	h := w.front
	h.goTo(w.job)
	h.reads(".stub", "no bill yet")
	h.goTo(h.link(`.stub a[href$="#bill"]`))
	h.press(`form[action$="/bill/listed"] button`)
	h.reads(".owed", "£65.00 owed")
	h.press(`form[action$="/bill/payment"] button`)
	h.reads(".owed", "all paid")
	w.customer.goTo(w.link)
	w.customer.reads(".facts", "£65.00 is paid")
	h.goTo(w.job)
	h.reads(".stub", "all paid")
	h.fill(`[name="takenby"]`, "a friend of the rider")
	h.press(`form[action$="/hand-over"] button`)
	h.goTo(w.job)
	h.reads("main", "picked up")
	w.customer.goTo(w.link)
	w.customer.reads("h1", "is back with you")
	h.goTo(h.link(`main a[href^="/units/"]`))
	h.reads("main", w.number)
}

func openDetails(selector string) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, tab *chromedp.Target) (chromedp.Void, error) {
		_, err := chromedp.Evaluate[bool](`(d => { for (const e of d) e.open = true; return true })(document.querySelectorAll(`+quote(selector)+`))`)(ctx, tab)
		return chromedp.Void{}, err
	}
}
