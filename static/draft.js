// draft.js: keeps a half-filled form on the server. The fields of a
// form[data-draft="/path"] are sent there a few seconds after they changed and
// when the page is left, under the id in its field "draft", and the address of
// the page then brings them back. What is kept there need not be kept here, so
// keep.js forgets its copy; where the server cannot be reached that copy stays.
//
// "hand" is this opening of the form, "version" what it was opened at. Where
// another hand kept the draft since, the server keeps this form apart and answers
// with a part that says so, as it does once somebody else goes on with this one;
// "told" is whose draft was told of. Without this script a button does it all.
//
// This comes before keep.js, and says which copy left in this tab it may lay over
// the page: never an older one over newer words. That one is offered.

const pause = 3000; // ms after the last change
const ids = ["draft", "hand", "version"];

const form = document.querySelector("form[data-draft]");
if (form) start(form, settle(form));

// settle says whether a copy goes on from the page.
function settle(form) {
  const stem = `typed:${document.body.dataset.person || ""}:${location.pathname}:${form.dataset.keep}:`;
  const copies = Object.keys(sessionStorage).filter((key) => key.startsWith(stem)).map(read).filter((copy) => copy?.ids).sort((a, b) => b.at - a.at);
  const asked = new URL(location.href).searchParams.get("draft");
  const of = (draft) => copies.find((copy) => copy.ids.draft === draft);
  const fresh = "fresh" in form.dataset;
  if (fresh && !asked && copies[0]?.away) {
    location.replace(`${location.pathname}?draft=${copies[0].ids.draft}`);
    return false;
  }
  const copy = !fresh ? of(form.elements.draft.value) : asked ? of(asked) : copies[0];
  if (!copy) return false;
  const goesOn = fresh || [form.dataset.last, form.elements.hand.value].includes(copy.ids.hand) || copy.ids.version === form.elements.version.value;
  if (!goesOn) offer(form, copy);
  else take(form, copy);
  if (goesOn && copy.away) for (const line of form.querySelectorAll("[data-kept]")) line.hidden = false;
  return goesOn;
}

// What is thrown away does not come back from this tab.
document.addEventListener("submit", ({ target }) => {
  const thrown = target.matches("[data-throws]") && target.elements.draft.value;
  for (const key of Object.keys(sessionStorage)) if (thrown && read(key)?.ids?.draft === thrown) sessionStorage.removeItem(key);
});

function read(key) {
  try {
    return JSON.parse(sessionStorage.getItem(key));
  } catch {
    return null;
  }
}

// take makes the form the one that the copy is of.
function take(form, copy) {
  for (const name of ids) form.elements[name].value = copy.ids[name];
}

function offer(form, copy) {
  const line = form.querySelector("[data-older]");
  if (!line) return;
  line.hidden = false;
  line.querySelector("button").addEventListener("click", () => {
    take(form, copy);
    line.hidden = true;
    document.dispatchEvent(new Event("swapped"));
  });
}

function start(form, changed) {
  let timer = changed ? setTimeout(keep, pause) : 0;
  let sent = false;
  let failed = false;
  let beginsAnother = false;
  let turn = Promise.resolve();
  const line = document.querySelector("[data-drafted]");

  for (const kind of ["input", "change"]) {
    form.addEventListener(kind, () => {
      changed = true;
      clearTimeout(timer);
      timer = setTimeout(keep, pause);
    });
  }
  form.addEventListener("submit", () => {
    sent = true;
    clearTimeout(timer);
  });
  form.addEventListener("reset", () => {
    sent = true;
    location.assign(location.pathname);
  });
  document.querySelector("[data-begin]")?.addEventListener("click", () => { beginsAnother = true; });
  addEventListener("pagehide", () => {
    if (!changed || sent) return;
    if (navigator.sendBeacon(form.dataset.draft, fields()) && !failed) keptAway(beginsAnother ? "" : "perhaps");
  });
  addEventListener("pageshow", () => { sent = false; });

  function keep() {
    turn = turn.then(save);
  }

  async function save() {
    if (sent || !changed) return;
    changed = false;
    try {
      const answer = await fetch(form.dataset.draft, { method: "POST", body: fields() });
      failed = !answer.ok || answer.redirected;
      if (failed) throw new Error(`answered ${answer.status}`);
      if (answer.status === 200) apart(await answer.text());
      kept();
    } catch (error) {
      changed = failed = true;
      console.warn("draft:", error);
    }
  }

  function apart(html) {
    const part = new DOMParser().parseFromString(html, "text/html").querySelector("[data-apart]");
    const { draft, version, told } = form.elements;
    if (draft.value !== part.dataset.apart) version.value = 0; // it was opened at none of its own
    draft.value = part.dataset.apart;
    told.value = part.dataset.theirs;
    document.getElementById("apart").replaceChildren(document.adoptNode(part));
  }

  function kept() {
    const address = new URL(location.href);
    address.searchParams.set("draft", form.elements.draft.value);
    history.replaceState(history.state, "", address);
    if (!changed) keptAway("");
    if (line) line.textContent = `Draft kept ${new Date().toLocaleTimeString([], { hour12: false })}.`;
  }

  function keptAway(detail) {
    form.dispatchEvent(new CustomEvent("kept-away", { bubbles: true, detail }));
  }

  function fields() {
    const body = new URLSearchParams();
    for (const [name, value] of new FormData(form)) if (typeof value === "string") body.append(name, value);
    return body;
  }
}
