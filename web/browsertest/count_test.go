package browsertest_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"damperdesk/web/browsertest"
)

// How much a mechanic in gloves will put up with for a service in a normal run,
// from the press that starts the job to the one that makes it ready: common
// practice (no source).
var limits = []struct {
	service, customer, mechanic, second string
	most                                tally
}{
	{"Lower-leg service", "Wren Abara", "Ines", "", tally{screens: 20, taps: 35, numbers: 8}},
	{"Air-spring service", "Kofi Lindgren", "Marit", "", tally{screens: 27, taps: 50, numbers: 8}},
	{"Full service", "Bettina Orr", "Ines", "Marit", tally{screens: 40, taps: 75, numbers: 8}},
}

// nameAndPIN is what a second checker taps on a shared tablet before the press:
// the name and six figures. The walk has the checker on a device of their own.
const nameAndPIN = 7

// tally is what a job asks of the hands: screens on which something is signed,
// where left and right of one thing that share a screen are one; taps; and
// numbers that are typed rather than tapped, each with the tap into its field.
type tally struct{ screens, taps, numbers int }

// counted is a mechanic whose every tap is a click at the place of a thing.
type counted struct {
	hand
	tally
	seen   []string // screens, by path or by what both sides of a thing share
	second string   // who makes the second checks
}

func taps(t *testing.T, d desk, s stock) {
	for _, l := range limits {
		t.Run(l.service, func(t *testing.T) {
			job := s.id(`select j.id from job j join visit v on v.id = j.visit_id join customer c on c.id = v.customer_id
				where c.name = $1 and j.stage = 'in the queue'`, l.customer)
			c := &counted{hand: d.sit(t, l.mechanic, 768, 1024), second: l.second}
			c.goTo("/bench")
			c.follow(fmt.Sprintf(`form[action="/jobs/%d/start"] button`, job))
			c.reads(".job", l.service)
			c.service()
			c.screens = len(c.seen)
			t.Logf("%s: %d screens of at most %d, %d taps of at most %d, %d typed numbers of at most %d", l.service,
				c.screens, l.most.screens, c.taps, l.most.taps, c.numbers, l.most.numbers)
			if c.screens > l.most.screens || c.taps > l.most.taps || c.numbers > l.most.numbers {
				t.Errorf("%s: %+v, want at most %+v", l.service, c.tally, l.most)
			}
		})
	}
}

// service signs the sheet from its first screen and makes the job ready.
func (c *counted) service() {
	c.t.Helper()
	if c.has("main a.main") {
		c.rests("main a.main")
		c.follow("main a.main")
	}
	for strings.Contains(c.path(), "/steps/") {
		before := c.path()
		c.screen()
		c.secondCheck(before)
		if c.path() == before {
			text, _ := c.Text("main")
			c.t.Fatalf("%s was not signed:\n%s", before, text)
		}
	}
	if !c.has(`form[action$="/ready"] button`) {
		text, _ := c.Text("main")
		c.t.Fatalf("it cannot be made ready:\n%s", text)
	}
	c.follow(`form[action$="/ready"] button`)
	c.reads("main", "Back to the final check")
}

// rests holds that a thing stays where it is when the page says that it follows
// by itself, or no longer does: a press on its way would land on another.
func (c *counted) rests(selector string) {
	c.t.Helper()
	moved, err := browsertest.Eval[string](c.Tab, `(() => {
		const word = document.querySelector("[data-live-state]"), said = word.textContent;
		const [on, off] = [word.dataset.on, word.dataset.off].map((text) => {
			word.textContent = text;
			return JSON.stringify(document.querySelector(`+quote(selector)+`).getBoundingClientRect());
		});
		word.textContent = said;
		return on === off ? "" : on + " " + off;
	})()`)
	c.must(err, "see what moves")
	if moved != "" {
		c.t.Errorf("%s at %s moves with the words about the page: %s", selector, c.path(), moved)
	}
}

// secondCheck has somebody else look at what holds the work up, and comes back.
func (c *counted) secondCheck(signed string) {
	c.t.Helper()
	if c.second == "" || c.path() != signed {
		return
	}
	c.follow(`main a[href*="/checks"]`)
	other := &counted{hand: c.desk.sit(c.t, c.second, 768, 1024)}
	other.goTo(c.path())
	other.tap(`[name="check"]`)
	other.follow(".together .main")
	c.taps += other.taps + nameAndPIN
	c.seen = append(c.seen, c.path())
	c.goTo(strings.TrimSuffix(c.path(), "/checks")) // where the press of the check leads
	c.follow("main a.main")
}

// screen answers one screen as in a normal run: the first grade of each scale,
// the number that is expected, and the press under the thumb.
func (c *counted) screen() {
	c.t.Helper()
	shared, err := browsertest.Eval[string](c.Tab, `document.querySelector(".signbar .other") ?
		document.querySelector("h1").textContent.split(", rider")[0] : location.pathname`)
	c.must(err, "see which screen it is")
	c.stand()
	if !slices.Contains(c.seen, shared) {
		c.seen = append(c.seen, shared)
	}
	open, err := browsertest.Eval[[]asked](c.Tab, unanswered)
	c.must(err, "see what the screen asks")
	c.inSight()
	for _, a := range open {
		c.tap("#" + a.ID)
		if a.Type != "" {
			c.must(c.Do(chromedp.KeyEvent(a.Type)), "type "+a.Type)
		}
		if a.Number {
			c.numbers, c.taps = c.numbers+1, c.taps-1
		}
	}
	c.follow(".signbar button.main")
}

// inSight holds that a screen shows all it says on a tablet held either way.
func (c *counted) inSight() {
	c.t.Helper()
	for _, d := range []device{{1024, 768}, {768, 1024}} {
		c.must(c.Resize(d.width, d.height), "turn the tablet")
		hidden, err := c.Covered()
		c.must(err, "look at the screen")
		if hidden != "" {
			c.t.Errorf("%s at %d px has under the sign bar: %s", c.path(), d.width, hidden)
		}
	}
}

// asked is something to tap and, for a field, what to type into it.
type asked struct {
	ID, Type string
	Number   bool
}

// unanswered lists what a screen needs before it can be signed. Of the keys
// around an expected number the middle one is it.
const unanswered = `(() => {
	const fields = [...document.querySelectorAll("main form :is(input, textarea)")].filter((f) => f.closest("form").querySelector(".signbar")
		&& !f.disabled && f.type !== "hidden" && f.checkVisibility() && !f.closest("details:not([open]), .asked:not(.needed)"));
	const radios = fields.filter((f) => f.type === "radio");
	const numbers = { value: "78", count: "6" }; // psi; clicks from closed
	const list = [];
	for (const name of new Set(radios.map((f) => f.name))) {
		const group = radios.filter((f) => f.name === name);
		if (group.some((f) => f.checked) || group[0].form.elements[name + "-other"]?.value) continue;
		list.push({ ID: (group[0].closest("[data-keys]") ? group[Math.floor(group.length / 2)] : group[0]).id });
	}
	for (const f of fields) {
		const kind = f.name.split(".").at(-1);
		if (f.value !== "") continue;
		if (f.matches("textarea")) list.push({ ID: f.id, Type: "Your fork was dry inside; it is smooth again." });
		else if (f.name === "count" && f.form.elements.note) list.push({ ID: f.id, Type: "50", Number: true }); // minutes at the bench
		else if (numbers[kind] && f.type === "text") list.push({ ID: f.id, Type: numbers[kind], Number: true });
	}
	return list;
})()`

// tap clicks in the middle of what a finger would aim at: the label around a
// field, else the thing itself. Nothing may lie over it.
func (c *counted) tap(selector string) {
	c.t.Helper()
	x, y := c.aim(selector)
	c.must(c.Do(chromedp.MouseClickXY(x, y)), "tap "+selector)
}

// follow taps what leads to another page.
func (c *counted) follow(selector string) {
	c.t.Helper()
	x, y := c.aim(selector)
	c.must(c.Tab.Follow(chromedp.MouseClickXY(x, y)), "tap "+selector)
}

func (c *counted) aim(selector string) (x, y float64) {
	c.t.Helper()
	c.taps++
	at, err := browsertest.Eval[[]float64](c.Tab, `(() => {
		const e = document.querySelector(`+quote(selector)+`);
		const aim = e?.closest("label") ?? e;
		aim?.scrollIntoView({ block: "nearest" });
		const r = aim?.getBoundingClientRect();
		const x = r?.x + r?.width / 2, y = r?.y + r?.height / 2;
		const hit = r && document.elementFromPoint(x, y);
		return hit && (aim.contains(hit) || hit === e) ? [x, y] : [];
	})()`)
	c.must(err, "aim at "+selector)
	if len(at) != 2 {
		text, _ := c.Text("main")
		c.t.Fatalf("nothing to tap at %s: %s\n%s", c.path(), selector, text)
	}
	return at[0], at[1]
}
