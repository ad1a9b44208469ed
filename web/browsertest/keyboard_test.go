package browsertest_test

import (
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"damperdesk/web/browsertest"
)

// mostKeys is how many presses a known customer's drop-off may take beside the
// words of the complaint.
const mostKeys = 120

// keyboard is a person without a mouse: a page begins at the skip link, and
// wherever the focus comes it can be seen.
type keyboard struct {
	hand
	pressed int
}

// focus is what has it.
type focus struct {
	Tag, Type, Name, Value, HTML string
	Chosen                       bool // its group has a choice already, or a number beside it
	Faults                       []string
}

// focused is the focus with what is wrong about it. Outlines thinner than 2 px
// are not seen (WCAG 2.2, success criterion 2.4.13, asks for 2 CSS pixels); the
// focus hides behind nothing (2.4.11) and within a column never goes up (2.4.3).
const focused = `(() => {
	const e = document.activeElement ?? document.body;
	const shown = e.closest("label.key") ?? e;
	const box = shown.getBoundingClientRect();
	const faults = [];
	const group = e.type === "radio" ? [...e.form.elements].filter((f) => f.name === e.name) : [];
	if (!e.matches("body, main")) {
		const style = getComputedStyle(shown);
		if (style.outlineStyle === "none" || parseFloat(style.outlineWidth) < 2) faults.push("has no outline to see");
		const x = box.x + box.width / 2, y = box.y + box.height / 2;
		const top = document.elementFromPoint(x, y);
		if (x < 0 || y < 0 || x > innerWidth || y > innerHeight) faults.push("is outside the window");
		else if (!top || !shown.contains(top) && !top.contains(shown)) faults.push("lies under " + top?.outerHTML.slice(0, 60));
		const before = window.focusBefore;
		if (before?.isConnected && !e.closest(".signbar") && !group.some((f) => before.contains(f))) {
			const was = before.getBoundingClientRect();
			if (box.bottom <= was.top && box.left < was.right && was.left < box.right) faults.push("comes after what stands below it, " + before.outerHTML.slice(0, 80));
		}
		window.focusBefore = shown;
	}
	return {
		Tag: e.localName, Type: e.type ?? "", Name: e.name ?? "", Value: e.value ?? "", HTML: e.outerHTML.slice(0, 120), Faults: faults,
		Chosen: group.some((f) => f.checked) || !!e.form?.elements[e.name + "-other"]?.value,
	};
})()`

// key presses a key and looks where the focus is.
func (k *keyboard) key(key string, with ...chromedp.Modifier) focus {
	k.t.Helper()
	k.pressed++
	k.must(k.Do(chromedp.KeyEvent(key, chromedp.KeyModifiers(with...))), "press a key")
	return k.look()
}

// look is where the focus is.
func (k *keyboard) look() focus {
	k.t.Helper()
	at, err := browsertest.Eval[focus](k.Tab, focused)
	k.must(err, "look at the focus")
	for _, fault := range at.Faults {
		k.t.Errorf("at %s the focus %s: %s", k.path(), fault, at.HTML)
	}
	return at
}

// types writes where the focus is.
func (k *keyboard) types(text string) {
	k.t.Helper()
	k.pressed += len([]rune(text))
	k.must(k.Do(chromedp.KeyEvent(text)), "type")
}

// enter presses what has the focus and waits for the page it leads to.
func (k *keyboard) enter() {
	k.t.Helper()
	k.pressed++
	k.must(k.Follow(chromedp.KeyEvent(kb.Enter)), "press Enter")
}

// skip goes from the top of a page to its content.
func (k *keyboard) skip() {
	k.t.Helper()
	if at := k.key(kb.Tab); !strings.Contains(at.HTML, `class="skip"`) {
		k.t.Errorf("the first stop of %s is %s, want the skip link", k.path(), at.HTML)
	}
	at := k.key(kb.Enter)
	for end := time.Now().Add(5 * time.Second); at.Tag == "body" && time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		at = k.look() // a link within the page is followed a moment after the key
	}
	if at.Tag != "main" {
		k.t.Errorf("the skip link of %s leads to %s", k.path(), at.HTML)
	}
}

// to goes on by Tab until the focus is on what the selector finds.
func (k *keyboard) to(selector string) {
	k.t.Helper()
	for range 80 {
		if k.on(selector) {
			return
		}
		k.key(kb.Tab)
	}
	k.t.Fatalf("80 stops of %s, and no %s", k.path(), selector)
}

func (k *keyboard) on(selector string) bool {
	k.t.Helper()
	on, err := browsertest.Eval[bool](k.Tab, `!!document.activeElement?.matches(`+quote(selector)+`)`)
	k.must(err, "look for "+selector)
	return on
}

// byKeyboard does the whole job of a customer who is known.
func byKeyboard(t *testing.T, d desk) {
	front := &keyboard{hand: d.sit(t, "Odile", 1440, 900)}
	front.alongBoard()
	job := front.takeIn()
	front.goTo(job)
	front.skip()
	front.to(`button[value="in the queue"]`)
	front.enter()

	bench := &keyboard{hand: d.sit(t, "Ines", 1024, 768)}
	bench.goTo("/bench")
	bench.skip()
	bench.to(`form[action="` + job + `/start"] button`)
	bench.enter()
	bench.sheet()
	bench.makeReady(job)

	front.goTo(job)
	front.skip()
	front.to(`[name="takenby"]`)
	front.types("a friend of the rider")
	front.to(`form[action$="/hand-over"] button`)
	front.enter()
	front.reads("main", "picked up")
}

// alongBoard moves on the board by its keys and opens a ticket.
func (k *keyboard) alongBoard() {
	k.goTo("/board")
	tickets, err := browsertest.Eval[[]string](k.Tab, `[...document.querySelectorAll(".board .no a")].map((a) => a.getAttribute("href"))`)
	k.must(err, "read the board")
	for _, c := range []struct {
		key string
		at  int
	}{{"j", 0}, {"j", 1}, {kb.ArrowDown, 2}, {kb.ArrowUp, 1}, {"k", 0}, {"k", 0}, {"j", 1}} {
		time.Sleep(100 * time.Millisecond) // as people press them: what comes faster is a scanner
		k.must(k.Do(chromedp.KeyEvent(c.key)), "press a key")
		if !k.on(`.board .no a[href="` + tickets[c.at] + `"]`) {
			at, _ := browsertest.Eval[string](k.Tab, `document.activeElement.outerHTML.slice(0, 200) + [...document.querySelectorAll(".board .no a")].indexOf(document.activeElement)`)
			k.t.Errorf("%q leads to %s, not to ticket %d of the board", c.key, at, c.at+1)
		}
	}
	k.enter()
	if k.path() != tickets[1] {
		k.t.Errorf("Enter opens %s, want %s", k.path(), tickets[1])
	}
}

// takeIn fills the drop-off page and gives the job's address.
func (k *keyboard) takeIn() string {
	k.t.Helper()
	k.goTo("/drop-off")
	if !k.on(`[name="who"]`) {
		k.t.Error("the drop-off page does not begin at who it is")
	}
	k.types("garrick")
	k.wait("#found", "Nell Garrick", 3*time.Second)
	k.key(kb.ArrowDown)
	k.key(" ")
	k.wait("#units", "Nell Garrick", 3*time.Second)
	k.to(`[name="unit0.unit"]`)
	if k.on(`[value="new"]`) {
		k.key(kb.ArrowDown)
	} else {
		k.key(" ")
	}
	if !k.has(`[name="unit0.unit"]:checked:not([value="new"])`) {
		k.t.Fatal("no fork of the customer is chosen")
	}
	k.key(kb.Tab, chromedp.ModifierShift)
	k.key(kb.Tab)
	if k.has(`.pick:has(:checked) + .again`) {
		k.to(`.again [name="unit0.again"]`)
		k.key(kb.ArrowDown) // no, something else
	}
	k.to(`[name="unit0.symptoms"]`)
	k.key(" ")
	k.to(`[name="unit0.complaint"]`)
	before := k.pressed
	k.types("dry over the first two centimetres")
	words := k.pressed - before
	k.to(`[name="unit0.services"][value="lower-leg"]`)
	k.key(" ")
	k.to(`[name="promise"]`)
	k.key(" ")
	k.to(`[name="limit"]`)
	k.types("150")
	k.to(`[name="terms"]`)
	k.types("the rider")
	k.to(`button[value="take in"]`)
	k.enter()
	k.reads("h1", "Visit of Nell Garrick")
	keys := k.pressed - words
	k.t.Logf("a known customer's drop-off: %d keys beside the complaint, at most %d", keys, mostKeys)
	if keys > mostKeys {
		k.t.Errorf("a known customer's drop-off takes %d keys beside the complaint, at most %d", keys, mostKeys)
	}
	return k.link(`tbody a[href^="/jobs/"]`)
}

// sheet signs every step, from stop to stop.
func (k *keyboard) sheet() {
	k.t.Helper()
	if k.has("main a.main") {
		k.skip()
		k.to("main a.main")
		k.enter()
	}
	kinds := map[string]bool{}
	for presses := 0; strings.Contains(k.path(), "/steps/"); presses++ {
		for kind, has := range map[string]string{"together": "form.together", "torque": "[data-tools]", "volume": ".what + .spec:has(dt)"} {
			kinds[kind] = kinds[kind] || k.has(has)
		}
		k.stand()
		before := k.path()
		k.step()
		if k.path() == before || presses > 70 {
			text, _ := k.Text("main")
			k.t.Fatalf("after %d presses %s was not signed:\n%s", presses, before, text)
		}
	}
	if len(kinds) < 3 || !kinds["together"] || !kinds["torque"] || !kinds["volume"] {
		k.t.Errorf("signed by keyboard: %v, want lines together, a torque and a volume", kinds)
	}
}

// step answers what each stop asks on the way to the sign bar, and signs.
func (k *keyboard) step() {
	k.t.Helper()
	if k.on(".signbar button.main") { // the other side, with all as just used
		k.enter()
		return
	}
	k.skip()
	for range 120 {
		at := k.key(kb.Tab)
		switch {
		case k.on(".signbar button.main"):
			k.enter()
			return
		case at.Type == "radio" && !at.Chosen:
			k.key(" ")
		case at.Tag == "textarea" && at.Value == "":
			k.types("It is smooth again.")
		case isNumber(at) && at.Value == "" && !k.has(`[name="`+strings.TrimSuffix(at.Name, "-other")+`"]:checked`):
			k.types("5")
		}
	}
	k.t.Fatalf("120 stops of %s, and no sign bar", k.path())
}

// isNumber says whether a field is for the number that a step asks for.
func isNumber(at focus) bool {
	name := strings.TrimSuffix(at.Name, "-other")
	return at.Type == "text" && (strings.HasSuffix(name, "value") || strings.HasSuffix(name, "count"))
}

func (k *keyboard) makeReady(job string) {
	k.t.Helper()
	k.goTo(strings.Replace(job, "/jobs/", "/bench/", 1))
	k.skip()
	k.to(`form[action$="/note"] button`)
	k.enter()
	k.skip()
	k.to(`form[action$="/ready"] button`)
	k.enter()
}
