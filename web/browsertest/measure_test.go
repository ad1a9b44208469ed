package browsertest_test

import (
	"fmt"

	"damperdesk/web/browsertest"
)

// widths are those a page must fit into without being pushed sideways; 320 CSS
// pixels is the narrowest of WCAG 2.2, success criterion 1.4.10.
var widths = []int{320, 360, 768, 1024, 1440}

// heights are those of the devices in a shop, by width.
var heights = map[int]int{320: 640, 360: 740, 768: 1024, 1024: 768, 1440: 900}

// least is how many CSS pixels a target measures either way on the pages that
// are worked with gloves, on the two tablet widths. Other pages keep to WCAG
// 2.2, success criterion 2.5.8, which axe-core measures.
const least = 48

// fits holds the page that is there against the sizes of window and finger, at
// every width.
func (h hand) fits(name string) {
	h.t.Helper()
	for _, width := range widths {
		h.must(h.Resize(width, heights[width]), "change the window")
		more, err := h.Wider()
		h.must(err, "measure the page")
		if more != "" {
			h.t.Errorf("%s at %d px is wider than the window: %s", name, width, more)
		}
		if width != 768 && width != 1024 {
			continue
		}
		for _, fault := range h.lines(fmt.Sprintf("%s(%d)", small, least)) {
			h.t.Errorf("%s at %d px: %s", name, width, fault)
		}
	}
}

// wellMade holds the page that is there against what does not depend on the
// window.
func (h hand) wellMade(name string) {
	h.t.Helper()
	for _, fault := range h.lines(headings + ".concat(" + moving + ")") {
		h.t.Errorf("%s: %s", name, fault)
	}
}

func (h hand) lines(script string) []string {
	h.t.Helper()
	found, err := browsertest.Eval[[]string](h.Tab, script)
	h.must(err, "measure the page")
	return found
}

// Each of these is a script that lists what is wrong.
const (
	// small is a function of the least size, for the pages of the bench. A label
	// belongs to the field it lies around, and to a link what is spread over the
	// row it stands in; a link in running text is as high as its line.
	small = `((least) => {
		if (!location.pathname.startsWith("/bench") && !document.body.matches(".bench")) return [];
		const running = (e) => getComputedStyle(e).display === "inline" && [...e.parentElement.childNodes].some((n) =>
			n.nodeType === 3 && n.textContent.trim() !== "");
		const box = (e) => {
			const spread = getComputedStyle(e, "::after");
			let at = e.closest("label") ?? e;
			if (spread.content !== "none" && spread.position === "absolute") {
				do at = at.parentElement; while (getComputedStyle(at).position === "static");
			}
			return at.getBoundingClientRect();
		};
		return [...document.querySelectorAll(".job *, main *, .signbar *")]
			.filter((e) => e.matches("a[href], button, input:not([type=hidden]), select, textarea, summary") && !e.disabled)
			.filter((e) => e.checkVisibility({ visibilityProperty: true }))
			.map((e) => [e, box(e)])
			.filter(([e, r]) => (r.width < least - 0.5 || r.height < least - 0.5) && !running(e))
			.map(([e, r]) => Math.round(r.width) + " by " + Math.round(r.height) + " px is too small a target: " + e.outerHTML.slice(0, 120));
	})`

	headings = `(() => {
		const faults = [];
		const count = (selector, want) => {
			const found = document.querySelectorAll(selector).length;
			if (found !== want) faults.push(found + " of " + selector + ", want " + want);
		};
		count("h1", 1);
		count("main", 1);
		count("html[lang=en]", 1);
		const main = document.querySelector("main");
		if (document.querySelector(".skip")?.getAttribute("href") !== "#" + main?.id) faults.push("the first link does not lead to the content");
		return faults;
	})()`

	// moving runs where reduced motion is asked for: 0.01 s is as good as none.
	moving = `(() => {
		const long = (times) => times.split(",").some((t) => parseFloat(t) > 0.01);
		return [...document.querySelectorAll("body, body *")].filter((e) => {
			const s = getComputedStyle(e);
			return long(s.transitionDuration) || (s.animationName !== "none" && long(s.animationDuration));
		}).map((e) => "moves though less motion is asked for: " + e.outerHTML.slice(0, 80))
			.concat(document.getAnimations().map((a) => "an animation runs: " + (a.animationName ?? a.transitionProperty)));
	})()`
)
