// keep.js: keeps what is typed. The fields of a form[data-keep] are copied into
// this tab's session storage as they change, and put back when the same person
// opens the same page again: after a lost sign-in, a failed send or a closed
// page. The copy goes when the form was sent and the answer is a page that
// does not say otherwise by a [data-unsent]. Pass-phrases, hidden fields and files
// are never kept. A form with a field "hand" has a copy for each hand, with the
// ids that draft.js goes by.

const person = document.body.dataset.person || "";
const unsent = document.querySelector("[data-unsent]") !== null;
const prefix = "typed:";

let restoring = false;

for (const key of keys()) {
  const draft = read(key);
  if (!draft?.sent) continue;
  if (unsent) store(key, { ...draft, sent: false });
  else sessionStorage.removeItem(key);
}
restoreAll();

document.addEventListener("input", keepFrom);
document.addEventListener("change", keepFrom);
document.addEventListener("swapped", restoreAll);
addEventListener("pageshow", (event) => { if (event.persisted) restoreAll(); });

// The server has it; where that is not sure yet the copy stays, and says so.
document.addEventListener("kept-away", ({ target, detail }) => {
  const key = keyOf(target);
  const copy = detail ? read(key) : null;
  if (copy) store(key, { ...copy, away: true });
  else sessionStorage.removeItem(key);
});

document.addEventListener("reset", (event) => {
  sessionStorage.removeItem(keyOf(event.target));
  say(event.target, false);
});

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.matches("[data-forget]")) {
    for (const key of keys()) sessionStorage.removeItem(key);
  } else if (form.matches("[data-keep]")) {
    write(form, true);
  }
});

function keepFrom(event) {
  const form = event.target.form;
  if (!restoring && form?.matches("[data-keep]")) write(form, false);
}

function keys() {
  return Object.keys(sessionStorage).filter((key) => key.startsWith(prefix));
}

function keyOf(form) {
  const hand = form.elements.hand?.value;
  return `${prefix}${person}:${location.pathname}:${form.dataset.keep}${hand ? `:${hand}` : ""}`;
}

function idsOf({ elements: { draft, hand, version } }) {
  return hand && { draft: draft.value, hand: hand.value, version: version.value };
}

function read(key) {
  try {
    return JSON.parse(sessionStorage.getItem(key));
  } catch {
    return null;
  }
}

function kept(form) {
  return [...form.elements].filter((field) =>
    field.name && field.matches("input, select, textarea") && !["hidden", "password", "file", "submit", "button"].includes(field.type));
}

// Choices that nobody has made are not kept, so that what the page chooses
// later stands. Fields that are not in the page just now, because a script
// brings them, stay as they were kept.
function write(form, sent) {
  const here = new Set(kept(form).map((field) => field.name));
  const fields = kept(form).filter((field) => !isChoice(field) || field.checked !== field.defaultChecked).map((field) =>
    isChoice(field) ? [field.name, field.value, field.checked] : [field.name, field.value]);
  const away = (read(keyOf(form))?.fields ?? []).filter(([name]) => !here.has(name));
  store(keyOf(form), { sent, at: Date.now(), ids: idsOf(form), fields: [...fields, ...away] });
}

function store(key, draft) {
  try {
    sessionStorage.setItem(key, JSON.stringify(draft));
  } catch (error) {
    console.warn("keep:", error); // full: the page works without it
  }
}

function isChoice(field) {
  return field.type === "radio" || field.type === "checkbox";
}

function restoreAll() {
  restoring = true;
  for (const form of document.querySelectorAll("form[data-keep]")) {
    const draft = read(keyOf(form));
    if (draft && restore(form, draft.fields)) say(form, true);
  }
  restoring = false;
}

// restore touches a field once: what the person changes afterwards stays, and
// what comes into the page later has its own turn. It says whether anything
// differed from the page as it came.
function restore(form, saved) {
  const seen = {};
  let differed = false;
  for (const field of kept(form)) {
    const nth = isChoice(field) ? 0 : (seen[field.name] = (seen[field.name] ?? -1) + 1);
    if (field.dataset.restored) continue;
    const match = saved.filter(([name, value, checked]) =>
      name === field.name && isChoice(field) === (checked !== undefined) && (!isChoice(field) || value === field.value))[nth];
    if (!match) continue;
    field.dataset.restored = "yes";
    const [, value, checked] = match;
    if (isChoice(field) ? field.checked === checked : field.value === value) continue;
    differed = true;
    if (isChoice(field)) field.checked = checked;
    else field.value = value;
    if (field.dataset.find && checked !== false) {
      field.dispatchEvent(new Event(isChoice(field) ? "change" : "input", { bubbles: true }));
    }
  }
  return differed;
}

// A form may hold a hidden [data-kept] line, which says that what was typed is
// back and has a reset button.
function say(form, back) {
  for (const line of form.querySelectorAll("[data-kept]")) line.hidden = !back;
}
