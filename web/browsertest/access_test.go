package browsertest_test

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

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
	for who, list := range byPerson {
		t.Run("seen by "+who, func(t *testing.T) {
			t.Parallel()
			h := d.sit(t, who, 1440, 900)
			for _, v := range list {
				h.look(v)
			}
		})
	}
}

// device is a window of a size, in CSS pixels.
type device struct{ width, height int }

var (
	screen = device{1440, 900}
	phone  = device{390, 844}
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
	found := list(h.checker().violations())
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
	if _, err := axe(); err != nil {
		return
	}
	c := h.checker()
	for _, at := range []device{phone, screen} {
		h.must(h.Resize(at.width, at.height), "change the window")
		for _, theme := range []string{"dark", "light"} {
			h.theme(theme)
			for _, broken := range c.violations() {
				h.t.Errorf("%s at %d px, %s: %s", name, at.width, theme, broken)
			}
		}
	}
}

// theme asks for the day's or the night's colours.
func (h hand) theme(scheme string) {
	h.t.Helper()
	h.must(h.Do(func(ctx context.Context, _ *chromedp.Target) (chromedp.Void, error) {
		_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
		})
		return chromedp.Void{}, err
	}), "ask for the "+scheme+" theme")
}
