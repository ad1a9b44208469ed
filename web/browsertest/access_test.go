package browsertest_test

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"damperdesk/internal/demo"
	"damperdesk/web/browsertest"
)

// accessible looks at every page of the route table, in every state that
// differs, as each of the people who come there. A page is loaded once; then
// its window and its theme change around it.
func accessible(t *testing.T, d desk, s stock) {
	all := views(s)
	for _, pattern := range d.patterns {
		_, looked := all[pattern]
		_, none := notPages[pattern]
		if looked == none {
			t.Errorf("GET %s: say in views how people come to it, or in notPages why nobody looks at it", pattern)
		}
	}
	byPerson := map[string][]view{}
	for _, pattern := range slices.Sorted(maps.Keys(all)) {
		for _, v := range all[pattern] {
			byPerson[v.who] = append(byPerson[v.who], v)
		}
	}
	t.Run("what changes is read out", func(t *testing.T) { announced(t, d) })
	t.Run("signing in", func(t *testing.T) { signingIn(t, d, s) })
	var titles sync.Map
	for who, list := range byPerson {
		t.Run("seen by "+who, func(t *testing.T) {
			t.Parallel()
			h := d.sit(t, who, screen.width, screen.height)
			h.theme("light")
			for _, v := range list {
				h.look(v)
				h.ownTitle(&titles)
			}
		})
	}
}

// signingIn looks at what people meet whose sign-in ended with a form on its
// way.
func signingIn(t *testing.T, d desk, s stock) {
	t.Parallel()
	h := d.sit(t, "Odile", screen.width, screen.height)
	h.theme("light")
	h.goTo(fmt.Sprintf("/jobs/%d", s.job("dropped off")))
	h.must(h.Forget(), "lose the sign-in")
	h.press(`form[action$="/hold"] button`)
	h.reads("main", "What you typed is kept")
	h.holds("the sign-in with a form on its way")
	h.fill(`[name="name"]`, "Odile")
	h.fill(`[name="passphrase"]`, demo.Passphrase("Odile"))
	h.press("main form button.main")
	h.reads("h1", "Signed in again")
	h.holds("the page to go on from")
}

// announced holds that what scripts put into a page is read out: the region it
// comes into is there, and shown, before it does (WCAG 2.2, 4.1.3).
func announced(t *testing.T, d desk) {
	t.Parallel()
	h := d.sit(t, "Odile", screen.width, screen.height)
	said := func(selector, words string) {
		t.Helper()
		h.reads(selector, words)
		ready, err := browsertest.Eval[bool](h.Tab, `fetch(location.href).then((r) => r.text()).then((html) => {
			const region = new DOMParser().parseFromString(html, "text/html").querySelector(`+quote(selector)+`)?.closest("[role=status], [aria-live=polite]");
			return !!region && !region.closest("[hidden]");
		})`)
		h.must(err, "look at the page as it came")
		if !ready {
			t.Errorf("%s: %s has no region that is read out", h.path(), selector)
		}
	}
	h.goTo("/board")
	said("[data-live-state]", "live")
	h.goTo("/drop-off")
	h.typeKeys(`[name="who"]`, "hanne")
	said("#found", "Hanne Byrd")
	h.goTo("/drop-off")
	said("[data-kept]", "What you typed here before is back.")
	if h.has("[data-kept][hidden]") {
		t.Error("what was typed is not back")
	}
}

// ownTitle holds that no other page is called the same. What answers in place
// of a page, a refusal or a question who it is, has a name of its kind.
func (h hand) ownTitle(titles *sync.Map) {
	h.t.Helper()
	title, err := browsertest.Eval[string](h.Tab, `performance.getEntriesByType("navigation")[0].responseStatus < 400 ? document.title : ""`)
	h.must(err, "read the title")
	path, _, _ := strings.Cut(h.path(), "?")
	if other, had := titles.LoadOrStore(title, path); had && title != "" && other != path {
		h.t.Errorf("%s and %s are both called %q", path, other, title)
	}
}

// device is a window of a size, in CSS pixels.
type device struct{ width, height int }

var (
	screen = device{1440, 900}
	phone  = device{360, 740} // the smallest that customers are reckoned with
)

// The checker must see faults of each sort it is relied on for: something
// without a name, and, in the colours of the theme, text too pale to read.
func plantedFaults(t *testing.T, d desk) {
	if _, err := axe(); err != nil {
		t.Skip(err)
	}
	h := d.sit(t, "", phone.width, phone.height)
	h.goTo("/sign-in")
	h.theme("dark")
	_, err := browsertest.Eval[bool](h.Tab, `document.querySelector("h1").style.color = "#445"; document.querySelector("main").append(document.createElement("img")); true`)
	h.must(err, "plant faults")
	c := h.checker()
	found := strings.Join(append(c.violations(axeColours), c.violations(axeRules)...), "\n")
	for _, rule := range []string{"image-alt: ", "color-contrast: "} {
		if !strings.Contains(found, rule) {
			t.Errorf("%swas planted and not found; found: %s", rule, found)
		}
	}
}

// look opens a page and holds it against everything that must be true of each.
func (h hand) look(v view) {
	h.t.Helper()
	h.goTo(v.path)
	if v.then != nil {
		v.then(h)
	}
	h.holds(v.path + ", as " + cmp.Or(v.who, "nobody"))
}

// holds looks at the page that is there, and leaves the window as wide as a
// screen, in the day's colours.
func (h hand) holds(name string) {
	h.t.Helper()
	h.wellMade(name)
	h.fits(name)
	if _, err := axe(); err != nil {
		return
	}
	c := h.checker()
	for _, at := range []device{phone, screen} {
		h.must(h.Resize(at.width, at.height), "change the window")
		h.theme("dark")
		for _, broken := range c.violations(axeColours) {
			h.t.Errorf("%s at %d px, dark: %s", name, at.width, broken)
		}
		h.theme("light")
		for _, broken := range c.violations(axeRules) {
			h.t.Errorf("%s at %d px: %s", name, at.width, broken)
		}
	}
}

// theme asks for the day's or the night's colours, and for less motion.
func (h hand) theme(scheme string) {
	h.t.Helper()
	h.must(h.Do(func(ctx context.Context, _ *chromedp.Target) (chromedp.Void, error) {
		_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{
				{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"},
			},
		})
		return chromedp.Void{}, err
	}), "ask for the "+scheme+" theme")
}
