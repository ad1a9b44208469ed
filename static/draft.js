// draft.js: keeps a half-filled form on the server. The fields of a
// form[data-draft="/path"] are sent there a few seconds after they changed and
// when the page is left, under the id in its field "draft", and the address of
// the page then brings them back. What is kept there need not be kept here, so
// keep.js forgets its copy; where the server cannot be reached that copy stays.
// A [data-drafted] line says when it was kept. Without this script a button of
// the form does.

const pause = 3000; // ms after the last change

const form = document.querySelector("form[data-draft]");
if (form) start(form);

function start(form) {
  let timer = 0;
  let changed = false;
  let sent = false;
  let turn = Promise.resolve();
  const remembered = `draft:${document.body.dataset.person || ""}`;
  const line = form.querySelector("[data-drafted]");

  // What keep.js has put back belongs to the draft it was kept as before.
  const before = sessionStorage.getItem(remembered);
  const back = form.querySelector("[data-kept]:not([hidden])");
  if (before && back && !new URL(location.href).searchParams.has("draft")) form.elements.draft.value = before;

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
  addEventListener("pagehide", () => {
    if (!changed || sent) return;
    remember();
    navigator.sendBeacon(form.dataset.draft, fields());
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
      if (answer.status !== 204) throw new Error(`answered ${answer.status}`);
      kept();
    } catch (error) {
      changed = true;
      console.warn("draft:", error);
    }
  }

  function kept() {
    remember();
    const address = new URL(location.href);
    address.searchParams.set("draft", form.elements.draft.value);
    history.replaceState(history.state, "", address);
    if (!changed) form.dispatchEvent(new Event("kept-away", { bubbles: true }));
    if (line) line.textContent = `Draft kept ${new Date().toLocaleTimeString([], { hour12: false })}.`;
  }

  function remember() {
    sessionStorage.setItem(remembered, form.elements.draft.value);
  }

  function fields() {
    const body = new URLSearchParams();
    for (const [name, value] of new FormData(form)) if (typeof value === "string") body.append(name, value);
    return body;
  }
}
