package main

import (
	"errors"
	"fmt"
	"net/url"
	"time"

	"damperdesk/internal/demo"
	"damperdesk/web/browsertest"
)

// scene is a page as somebody has come to it.
type scene struct {
	name, who, start string
	then             []step
}

type step func(*browsertest.Tab) error

// open follows the first link that the selector finds.
func open(selector string) step {
	return func(tab *browsertest.Tab) error {
		path, err := browsertest.Eval[string](tab, fmt.Sprintf("document.querySelector(%q)?.href ?? ''", selector))
		if err == nil && path == "" {
			err = fmt.Errorf("nothing is %s", selector)
		}
		if err != nil {
			return err
		}
		u, err := url.Parse(path)
		if err != nil {
			return err
		}
		return tab.Go(u.RequestURI())
	}
}

func press(selector string) step {
	return func(tab *browsertest.Tab) error { return tab.Press(selector) }
}

// do runs a script, such as a tick, in the page.
func do(script string) step {
	return func(tab *browsertest.Tab) error {
		_, err := browsertest.Eval[bool](tab, "(() => {"+script+"; return true })()")
		return err
	}
}

// settle lets what scripts fetch come into the page.
func settle(tab *browsertest.Tab) error {
	time.Sleep(time.Second)
	return tab.Ready()
}

const (
	firstJob  = ".board .no a"
	sheet     = `a.button[href^="/bench/"]`
	goOn      = `a.button.main[href*="/steps/"]`
	visit     = `a[href^="/visits/"]`
	newLink   = `form[action$="/link"] button`
	customers = `a[href*="/c/"]`
)

// enrol makes the device a tablet of a name that none had, which then asks who
// is at the bench.
func enrol(tab *browsertest.Tab) error {
	err := do(`document.querySelector("form[action='/tablets'] [name=name]").value = "bench " + Date.now() % 1e6`)(tab)
	return errors.Join(err, tab.Press(`form[action="/tablets"] button.main`))
}

// byPIN presses a name and, on the pad, a PIN.
func byPIN(name, pin string) step {
	return func(tab *browsertest.Tab) error {
		return errors.Join(do(`
			document.querySelector("[data-name=`+name+`]").click();
			for (const digit of "`+pin+`") [...document.querySelectorAll(".pad .key")].find((key) => key.textContent === digit).click()`)(tab),
			tab.Press(".pin button.main"))
	}
}

// openUnchecked opens the first sheet with steps that wait for a second check.
func openUnchecked(tab *browsertest.Tab) error {
	path, err := browsertest.Eval[string](tab, `(async () => {
		const sheets = new Set((await (await fetch("/bench")).text()).match(/\/bench\/\d+/g));
		for (const sheet of sheets)
			if ((await (await fetch(sheet)).text()).includes(sheet + "/checks")) return sheet + "/checks";
		return "";
	})()`)
	if err == nil && path == "" {
		err = errors.New("nothing waits for a second check")
	}
	if err != nil {
		return err
	}
	return tab.Go(path)
}

var scenes = []scene{
	{name: "tablets", who: "Ragna", start: "/tablets"},
	{name: "tablet-one", who: "Ragna", start: "/tablets/1"},
	{name: "tablet-picker", who: "Ragna", start: "/tablets", then: []step{enrol}},
	{name: "tablet-wrong", who: "Ragna", start: "/tablets", then: []step{enrol, byPIN("Marit", "000001")}},
	{name: "tablet-switch", who: "Ragna", start: "/tablets", then: []step{enrol, byPIN("Ines", demo.PIN("Ines")), open(".job > a:last-of-type")}},
	{name: "tablet-checks", who: "Ragna", start: "/tablets", then: []step{
		enrol, byPIN("Tobias", demo.PIN("Tobias")), openUnchecked,
		do(`document.querySelector("[name=check]").click(); document.querySelector("[data-name=Marit]").click();
			document.querySelector("[name=pin]").value = "000001"`),
		press(".together .main")}},
	{name: "checks", who: "Ines", start: "/bench", then: []step{openUnchecked}},
	{name: "tablet-phrase", who: "Ragna", start: "/tablets", then: []step{
		enrol, byPIN("Ragna", demo.PIN("Ragna")), func(tab *browsertest.Tab) error { return tab.Go("/people") }}},
	{name: "signin", start: "/sign-in"},
	{name: "signin-wrong", start: "/sign-in", then: []step{
		do(`document.querySelector("[name=name]").value = "Odile"; document.querySelector("[name=passphrase]").value = "something else"`),
		press("main form button.main"),
	}},
	{name: "error", who: "Odile", start: "/jobs/999999"},
	{name: "error-role", who: "Odile", start: "/people"},
	{name: "board", who: "Odile", start: "/board"},
	{name: "board-mechanic", who: "Ines", start: "/board"},
	{name: "board-owner", who: "Ragna", start: "/board"},
	{name: "board-none", who: "Odile", start: "/board?who=none&stage=final+check"},
	{name: "find", who: "Odile", start: "/find?q=hanne"},
	{name: "find-none", who: "Odile", start: "/find?q=zzz"},
	{name: "find-nothing-typed", who: "Odile", start: "/find"},
	{name: "dropoff", who: "Odile", start: "/drop-off?who=hanne"},
	{name: "dropoff-known", who: "Odile", start: "/find?q=hanne", then: []step{open(`main a[href^="/customers/"]`), open(`a[href^="/drop-off?customer="]`)}},
	{name: "dropoff-ticked", who: "Odile", start: "/drop-off", then: []step{
		do(`for (const v of ["sticky", "stuck-down", "crash"]) document.querySelector("[value=" + v + "]").click()`),
	}},
	{name: "dropoff-refused", who: "Odile", start: "/drop-off", then: []step{press(`button[value="take in"]`)}},
	{name: "dropoff-two", who: "Odile", start: "/drop-off", then: []step{press(`button[value="add"]`)}},
	{name: "dropoff-priced", who: "Odile", start: "/drop-off?customer=new", then: []step{
		do(`for (const v of ["lower-leg", "air-spring", "crown-steerer"]) document.querySelector("[name='unit0.services'][value=" + v + "]").click()`), settle}},
	{name: "dropoff-opened", who: "Odile", start: "/drop-off", then: []step{do(`for (const part of document.querySelectorAll("details")) part.open = true`)}},
	{name: "job-booked", who: "Odile", start: "/board?stage=booked", then: []step{open(firstJob)}},
	{name: "job-comeback", who: "Marit", start: "/board?q=Yuki+Farrant", then: []step{open(firstJob)}},
	{name: "job-claim", who: "Odile", start: "/board?q=Thea+Rowan", then: []step{open(firstJob)}},
	{name: "wall", who: "Odile", start: "/board/wall"},
	{name: "rota", who: "Ragna", start: "/shop/rota"},
	{name: "times", who: "Ragna", start: "/services/times"},
	{name: "promises", who: "Ragna", start: "/promises"},
	{name: "answers", who: "Odile", start: "/answers"},
	{name: "job-change", who: "Odile", start: "/jobs/177/change"},
	{name: "merge", who: "Odile", start: "/customers/1/merge?with=2"},
	{name: "receipt", who: "Odile", start: "/visits/170/receipt"},
	{name: "tag", who: "Odile", start: "/board?stage=ready+for+pickup", then: []step{open(firstJob), open(`a[href$="/tag"]`)}},
	{name: "job-dropped-off", who: "Odile", start: "/board?stage=dropped+off", then: []step{open(firstJob)}},
	{name: "job-queue", who: "Ines", start: "/board?stage=in+the+queue", then: []step{open(firstJob)}},
	{name: "job-bench", who: "Odile", start: "/board?stage=on+the+bench", then: []step{open(firstJob)}},
	{name: "job-waiting", who: "Odile", start: "/board?stage=waiting+on+parts", then: []step{open(firstJob)}},
	{name: "job-final", who: "Tobias", start: "/board?stage=final+check", then: []step{open(firstJob)}},
	{name: "job-ready", who: "Odile", start: "/board?stage=ready+for+pickup", then: []step{open(firstJob)}},
	{name: "job-closed", who: "Odile", start: "/jobs/1"},
	{name: "job-owner", who: "Ragna", start: "/board?stage=on+the+bench", then: []step{open(firstJob)}},
	{name: "job-cancel-refused", who: "Odile", start: "/board?stage=in+the+queue", then: []step{open(firstJob), do(`document.querySelector("#cancel").open = true`), press(`form[action$="/cancel"] button`)}},
	{name: "bench-torque", who: "Ines", start: "/bench", then: []step{open(`.due a[href^="/bench/"]`), open(goOn)}},
	{name: "bench-volume", who: "Marit", start: "/bench", then: []step{open(`.due a[href^="/bench/"]`), open(goOn)}},
	{name: "bench-torque-outside", who: "Ines", start: "/bench", then: []step{open(`.due a[href^="/bench/"]`), open(goOn),
		do(`document.querySelector("[name=value-other]").value = "9.4"`), press(".signbar .main")}},
	{name: "bench-volume-outside", who: "Marit", start: "/bench", then: []step{open(`.due a[href^="/bench/"]`), open(goOn),
		do(`document.querySelector("[name=value-other]").value = "30"`), press(".signbar .main")}},
	{name: "job-add-service", who: "Ines", start: "/bench", then: []step{open(`.due a[href^="/bench/"]`), do(`
		document.querySelector("#add-service").open = true; document.querySelector("#add-service [value=air-spring]").click()`), press("#add-service button")}},
	{name: "job-add-service-refused", who: "Ines", start: "/bench", then: []step{open(`.due a[href^="/bench/"]`), do(`
		document.querySelector("#add-service").open = true`), press("#add-service button")}},
	// After the scenes before it, those at the bench too, since it adds the service
	// to the job on the bench.
	{name: "job-take-off", who: "Ines", start: "/bench", then: []step{open(`.due a[href^="/bench/"]`), do(`
		document.querySelector("#add-service").open = true; document.querySelector("#add-service [value=air-spring]").click()`), press("#add-service button"),
		press(`form[method=post][action$="/services"] button`), do(`
		document.querySelector("#take-off").open = true; document.querySelector("#take-off [value=air-spring]").click()`), press("#take-off button")}},
	{name: "visit", who: "Odile", start: "/board", then: []step{open(firstJob), open(visit), press(newLink)}},
	{name: "visit-part-paid", who: "Odile", start: "/board?stage=ready+for+pickup", then: []step{open(firstJob), open(visit)}},
	{name: "visit-warranty", who: "Odile", start: "/find?q=priya", then: toVisit},
	{name: "visit-over-limit", who: "Odile", start: "/find?q=beatrix", then: append(toVisit, do(`document.querySelector("#add-line").open = true`))},
	{name: "visit-line-refused", who: "Odile", start: "/find?q=beatrix", then: append(toVisit, do(`document.querySelector("#add-line").open = true;
		document.querySelector("[name='line.price']").value = "1,234"; document.querySelector("[name='line.words']").value = "Wipers"`), press(`form[action$="/bill/line"] button`))},
	{name: "visit-mechanic", who: "Ines", start: "/board?stage=ready+for+pickup", then: []step{open(firstJob), open(visit)}},
	{name: "bill", who: "Odile", start: "/board?stage=ready+for+pickup", then: []step{open(firstJob), open(visit), open(`a[href$="/bill"]`)}},
	{name: "bill-warranty", who: "Odile", start: "/find?q=priya", then: append(toVisit, open(`a[href*="/bill?payer="]`))},
	{name: "ticket", who: "Odile", start: "/board", then: []step{open(firstJob), open(`a[href$="/ticket"]`)}},
	{name: "customer-book-refused", who: "Odile", start: "/board", then: []step{open(firstJob), open(`a[href^="/customers/"]`),
		do(`document.querySelector("main form [name=phone]").value = "n/a"; document.querySelector("main form [name=mail]").value = "at home"; document.querySelector("main form").noValidate = true`), press("main form button")}},
	{name: "customer-book", who: "Odile", start: "/board", then: []step{open(firstJob), open(`a[href^="/customers/"]`)}},
	{name: "unit-book", who: "Odile", start: "/board", then: []step{open(firstJob), open(`a[href^="/units/"]`)}},
	{name: "customer-queue", who: "Odile", start: "/board?stage=in+the+queue", then: toCustomer},
	{name: "customer-bench", who: "Odile", start: "/board?stage=on+the+bench", then: toCustomer},
	{name: "customer-waiting", who: "Odile", start: "/board?stage=waiting+on+customer", then: toCustomer},
	{name: "customer-ready", who: "Odile", start: "/board?stage=ready+for+pickup", then: toCustomer},
	{name: "customer-shock", who: "Odile", start: "/board?stage=sent+out", then: toCustomer},
	{name: "customer-gone", start: "/c/there-is-no-such-address"},
	{name: "bench", who: "Ines", start: "/bench"},
	{name: "bench-owner", who: "Ragna", start: "/bench"},
	{name: "bench-sheet", who: "Ines", start: "/bench", then: []step{open(`a[href^="/bench/"]`)}},
	{name: "bench-put-right-refused", who: "Tobias", start: "/board?stage=final+check", then: []step{open(firstJob), open(sheet),
		do(`const form = document.querySelector("form[action$='/mend']"); form.noValidate = true; form.closest("details").open = true`), press(`form[action$="/mend"] button`)}},
	{name: "bench-final", who: "Tobias", start: "/board?stage=final+check", then: []step{open(firstJob), open(sheet)}},
	{name: "bench-signed", who: "Ines", start: "/bench", then: []step{open(`.due a[href^="/bench/"]`), open(`.sheet li:not(.ahead):not(.now) a[href*="/steps/"]`)}},
	{name: "bench-check", who: "Ines", start: "/board?stage=final+check", then: []step{open(firstJob), open(sheet), open(`.sheet li:has(.eyes) a[href*="/steps/"]`)}},
	{name: "bench-together", who: "Ines", start: "/board?stage=in+the+queue", then: []step{open(firstJob), press(`form[action$="/start"] button`), open(`main a[href*="/steps/"]`)}},
	{name: "due", who: "Odile", start: "/due"},
	{name: "due-owner", who: "Ragna", start: "/due?state=unknown"},
	{name: "due-none", who: "Odile", start: "/due?state=overdue&service=coil-spring"},
	{name: "due-dropoff", who: "Odile", start: "/due", then: []step{open(`.dues a[href^="/drop-off"]`)}},
	{name: "due-unit", who: "Ines", start: "/units/2"},
	{name: "unit-change", who: "Ines", start: "/units/2/change"},
	{name: "due-unit-refused", who: "Odile", start: "/units/2", then: []step{
		do(`document.querySelector("[name=hours]").value = "lots"; document.querySelector("[name=rides]").value = "3"`), press(`form[action$="/hours"] button.button`)}},
	{name: "due-invite", who: "Ragna", start: "/due", then: []step{
		do(`[...document.querySelectorAll(".dues input[type=checkbox]")].forEach((box, i) => box.checked = i < 4)`), press("[form=due]")}},
	{name: "unit-sell", who: "Odile", start: "/units/2/sell"},
	{name: "unit-sticker", who: "Odile", start: "/units/2/sticker"},
	{name: "unit-read-book", who: "Odile", start: "/units/read-book"},
	{name: "customer", who: "Odile", start: "/customers/2"},
	{name: "customer-erase", who: "Ragna", start: "/customers/2/erase"},
	{name: "rider-book", who: "Odile", start: "/units/2", then: []step{press(newLink), open(`a[href*="/b/"]`)}},
	{name: "messages", who: "Odile", start: "/messages"},
	{name: "message", who: "Odile", start: "/messages", then: []step{open(`main a[href^="/messages/"]`)}},
	{name: "messages-kinds", who: "Ragna", start: "/shop/messages"},
	{name: "messages-words", who: "Ragna", start: "/shop/messages/ready"},
	{name: "messages-setup", who: "Ragna", start: "/messages/setup"},
	{name: "retention", who: "Ragna", start: "/shop/retention"},
	{name: "event-rule", who: "Ragna", start: "/intervals", then: []step{open(`main a[href^="/intervals/event"]`)}},
	{name: "review", who: "Ragna", start: "/review"},
	{name: "review-year", who: "Ragna", start: "/review?p=year"},
	{name: "review-refused", who: "Ragna", start: "/review?p=pick&from=2026-02-30&to=2026-01-01"},
	{name: "intervals", who: "Ragna", start: "/intervals"},
	{name: "intervals-rule", who: "Ragna", start: "/intervals/rule?service=lower-leg&model=3"},
	{name: "intervals-refused", who: "Ragna", start: "/intervals/rule?service=lower-leg", then: []step{
		do(`document.querySelector("[name=hours]").value = "fifty"`), press(`main form button.main`)}},
	{name: "models", who: "Odile", start: "/models"},
	{name: "model", who: "Odile", start: "/models/1"},
	{name: "model-new", who: "Ragna", start: "/models/new"},
	{name: "model-forms", who: "Ragna", start: "/models", then: []step{open(`main a[href^="/models/"]:not(.button)`), open(`.head a[href$="/change"]`)}},
	{name: "model-revision", who: "Odile", start: "/models/2/sheets/2"},
	{name: "model-draft", who: "Marit", start: "/models/1/draft"},
	{name: "model-value", who: "Marit", start: "/models/1/draft/value?key=air-side+oil"},
	{name: "model-unusual", who: "Marit", start: "/models/1/draft/value?key=axle", then: []step{do(`document.querySelector("[name=nominal]").value = "120 N·m"`), press("main form button.main")}},
	{name: "model-check", who: "Ines", start: "/models/1/draft/check"},
	{name: "me", who: "Odile", start: "/me"},
	{name: "me-refused", who: "Odile", start: "/me", then: []step{do(`document.querySelector("[action='/me/passphrase']").noValidate = true`), press(`[action="/me/passphrase"] button`)}},
	{name: "shop", who: "Ragna", start: "/shop"},
	{name: "settings", who: "Ragna", start: "/shop/settings"},
	{name: "calc", who: "Ines", start: "/calculators"},
	{name: "calc-units", who: "Ines", start: "/calculators/units?value=62+lbf%C2%B7in"},
	{name: "calc-torque", who: "Ines", start: "/calculators/torque?torque=7.3+N%C2%B7m&tool=3&length=300&extension=50&angle=0"},
	{name: "calc-pressure", who: "Ines", start: "/calculators/pressure?pressure=85+psi&t1=20&h1=0&t2=0&h2=2000&most="},
	{name: "calc-fluid", who: "Ines", start: "/calculators/fluid?v1=32&t1=40&v2=5.4&t2=100&at=10"},
	{name: "calc-blend-refused", who: "Ines", start: "/calculators/blend?thin=7.5&thick=16.1&want=20&amount=120"},
	{name: "calc-mix", who: "Ines", start: "/calculators/mix?v1=7.5&amount1=100+mL&v2=16.1&amount2=50+mL&v3=&amount3="},
	{name: "calc-riders", who: "Ines", start: "/calculators/riders?model=1&rider=75+kg"},
	{name: "calc-sag", who: "Ines", start: "/calculators/sag?pressure=70+psi&sag=25&pressure2=&sag2=&spacers=1&spacers2=2&spacer=10+mL&travel=150&want=15&least=40+psi&most=90+psi&rider=82+kg"},
	{name: "tools", who: "Ines", start: "/tools"},
	{name: "tool", who: "Ines", start: "/tools", then: []step{open(`main tbody a[href^="/tools/"]`)}},
	{name: "tool-limits", who: "Ragna", start: "/tools/limits"},
	{name: "tool-new", who: "Ragna", start: "/tools/new"},
	{name: "tool-forms", who: "Ragna", start: "/tools", then: []step{open(`main tbody a[href^="/tools/"]`), open(".head a.main")}},
	{name: "hours", who: "Ragna", start: "/shop/hours"},
	{name: "hours-refused", who: "Ragna", start: "/shop/hours", then: []step{
		do(`document.querySelector("[name=monday]").value = "10 to 6"`), press(`form[action="/shop/hours"] .button`)}},
	{name: "services", who: "Ragna", start: "/services"},
	{name: "services-refused", who: "Ragna", start: "/services", then: []step{do(`document.querySelector("[name='price.lower-leg']").value = "lots"`), press("main form.prices button")}},
	{name: "procedures", who: "Ragna", start: "/procedures"},
	{name: "procedures-block", who: "Ragna", start: "/procedures/Q"},
	{name: "procedures-revisions", who: "Ragna", start: "/procedures/Q/revisions/1?with=2"},
	{name: "procedures-draft", who: "Ragna", start: "/procedures/W/draft"},
	{name: "procedures-step", who: "Ragna", start: "/procedures/W/draft/step?key=W5"},
	{name: "procedures-step-refused", who: "Ragna", start: "/procedures/W/draft/step?after=W2", then: []step{
		do(`document.querySelector("[name=kind]").value = "torque"; document.querySelector("[name=title]").value = "Torque"; document.querySelector("[name=text]").value = "Turn."`),
		press("#content form .main")}},
	{name: "procedures-preview", who: "Ragna", start: "/procedures/W/draft/preview?model=1&came=whole+bike&service=full"},
	{name: "procedures-service", who: "Ragna", start: "/procedures/services/full"},
	{name: "tax", who: "Ragna", start: "/services", then: []step{open(`main a[href^="/services/tax/"]`)}},
	{name: "terms", who: "Ragna", start: "/shop/terms"},
	{name: "people", who: "Ragna", start: "/people"},
	{name: "people-refused", who: "Ragna", start: "/people", then: []step{do(`document.querySelector("main form").noValidate = true`), press("main form button.main")}},
	{name: "somebody", who: "Ragna", start: "/people", then: []step{open(`main a[href^="/people/"]`)}},
}

// toVisit goes from a customer that was found to the visit of their first job.
var toVisit = []step{open(`main a[href^="/customers/"]`), open(`main a[href^="/jobs/"]`), open(visit)}

// toCustomer makes an address for the customer of the first job and opens it.
var toCustomer = []step{open(firstJob), open(visit), press(newLink), open(customers)}

// emptyScenes are the pages of a shop in which nothing has happened.
var emptyScenes = []scene{
	{name: "empty-board", who: "Ragna", start: "/board"},
	{name: "empty-bench", who: "Ragna", start: "/bench"},
	{name: "empty-models", who: "Ragna", start: "/models"},
	{name: "empty-due", who: "Ragna", start: "/due"},
	{name: "empty-review", who: "Ragna", start: "/review"},
	{name: "empty-services", who: "Ragna", start: "/services"},
	{name: "empty-intervals", who: "Ragna", start: "/intervals"},
	{name: "empty-find", who: "Ragna", start: "/find?q=ha"},
	{name: "empty-shop", who: "Ragna", start: "/shop"},
	{name: "empty-tools", who: "Ragna", start: "/tools"},
	{name: "empty-hours", who: "Ragna", start: "/shop/hours"},
	{name: "empty-terms", who: "Ragna", start: "/shop/terms"},
	{name: "empty-people", who: "Ragna", start: "/people"},
	{name: "empty-dropoff", who: "Ragna", start: "/drop-off"},
}

// setUp sets an empty shop up, at the address that the server printed.
func setUp(address string) []scene {
	unchecked := do(`document.querySelector("main form").noValidate = true`)
	fill := do(fmt.Sprintf(`for (const [name, value] of Object.entries({shop: "Tarn Lane Cycles", zone: "Europe/London", currency: "GBP", name: "Ragna", passphrase: %q, "passphrase-again": %[1]q})) document.querySelector("main [name=" + name + "]").value = value`, demo.Passphrase("Ragna")))
	return []scene{
		{name: "setup", start: address},
		{name: "setup-refused", start: address, then: []step{unchecked, press("main form button.main")}},
		{name: "setup-done", start: address, then: []step{fill, press("main form button.main")}},
	}
}
