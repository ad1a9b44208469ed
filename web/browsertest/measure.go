package browsertest

// Wider says by how much the page is wider than the window, and what sticks
// out; empty where nothing does.
func (t *Tab) Wider() (string, error) {
	return Eval[string](t, `(() => {
	const more = document.documentElement.scrollWidth - innerWidth;
	if (more <= 0) return "";
	const out = [...document.querySelectorAll("body *")].find((e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".unseen, .scroll, svg"));
	return more + " px, " + (out ? out.outerHTML.slice(0, 120) : "");
})()`)
}

// Covered lists what of a bench page lies under the sign bar as it opens.
func (t *Tab) Covered() (string, error) {
	return Eval[string](t, `(() => {
	const bar = document.querySelector(".signbar");
	if (!bar) return "";
	scrollTo(0, 0);
	const top = bar.getBoundingClientRect().top;
	return [...document.querySelectorAll("main h1, main p, main dd, main label, main figcaption, main summary, main .caution")]
		.filter((e) => !bar.contains(e) && e.checkVisibility() && e.getBoundingClientRect().bottom > top + 1 && e.getBoundingClientRect().height > 0)
		.map((e) => e.textContent.trim().replace(/\s+/g, " ").slice(0, 30)).join(" | ");
})()`)
}
