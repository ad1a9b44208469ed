// find.js: fills a region as a field changes. An element with
// data-find="/path" and data-region="id" fetches /path?<its name>=<its value>
// as HTML and puts it into the region: a text field as it is typed in, a
// select or a choice when it is chosen. Down or Enter goes into what was found,
// Up comes back, Escape clears. What data-with names is sent along. A [data-stays]
// takes the place of the one that comes under its id. Enter on a choice takes it and goes on to what
// it brought. Ctrl and Enter press the form's button[data-quick] from anywhere.
// Without this script the form's own buttons do.

const wait = 200; // ms of quiet before asking
const pending = new WeakMap();

document.addEventListener("input", (event) => {
  const field = event.target.closest("input[data-find]");
  if (!field || isChoice(field)) return;
  clearTimeout(pending.get(field)?.timer);
  pending.set(field, { ...pending.get(field), timer: setTimeout(() => find(field), wait) });
});

document.addEventListener("change", (event) => {
  const field = event.target.closest("[data-find]");
  if (field && (isChoice(field) || field.matches("select"))) find(field);
});

document.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) quick(event);
  if (event.ctrlKey || event.altKey || event.metaKey || event.isComposing) return;
  const field = event.target.closest?.("input[data-find]");
  if (field && !isChoice(field)) inField(event, field);
  else if (field && event.key === "Enter") take(event, field);
  else inRegion(event);
});

// Enter never sends the form from here, also where the press arrives alone.
document.addEventListener("keypress", (event) => {
  if (event.key === "Enter" && event.target.closest?.("input[data-find]")) event.preventDefault();
});

function quick(event) {
  const button = event.target.form?.querySelector("button[data-quick]");
  if (!button) return;
  event.preventDefault();
  button.click();
}

async function take(event, choice) {
  event.preventDefault();
  choice.checked = true;
  choice.dispatchEvent(new Event("input", { bubbles: true }));
  await find(choice);
  first(choice)?.focus();
}

function isChoice(field) {
  return field.type === "radio" || field.type === "checkbox";
}

async function inField(event, field) {
  switch (event.key) {
    case "Enter":
      event.preventDefault();
      clearTimeout(pending.get(field)?.timer);
      await find(field);
      first(field)?.focus();
      break;
    case "ArrowDown":
      if (!first(field)) return;
      event.preventDefault();
      first(field).focus();
      break;
    case "Escape":
      if (field.value === "") return;
      event.preventDefault();
      field.value = "";
      find(field);
      break;
  }
}

// Up from the first thing found goes back to the field.
function inRegion(event) {
  if (event.key !== "ArrowUp") return;
  const field = [...document.querySelectorAll("input[data-find]")].find((f) => !isChoice(f) && first(f) === event.target);
  if (!field) return;
  event.preventDefault();
  field.focus();
}

function region(field) {
  return document.getElementById(field.dataset.region);
}

function first(field) {
  const into = region(field);
  return into?.querySelector("input:checked") ?? into?.querySelector("input:not([type=hidden], :disabled), a[href], button");
}

async function find(field) {
  const into = region(field);
  if (!into) return;
  pending.get(field)?.abort?.abort();
  const abort = new AbortController();
  pending.set(field, { abort });
  const address = new URL(field.dataset.find, location.href);
  for (const name of (field.dataset.with ?? "").split(" ")) {
    const other = field.form?.elements.namedItem(name);
    if (other) address.searchParams.set(name, other.value);
  }
  if (field.name) address.searchParams.set(field.name, field.value);
  into.setAttribute("aria-busy", "true");
  try {
    const answer = await fetch(address, { signal: abort.signal, headers: { Accept: "text/html" } });
    if (!answer.ok || answer.redirected) return;
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (abort.signal.aborted) return;
    const meanwhile = entered(into);
    for (const old of into.querySelectorAll("[data-stays]")) fresh.getElementById(old.id)?.replaceWith(old);
    into.replaceChildren(...document.adoptNode(fresh.body).childNodes);
    for (const put of meanwhile) put(into);
    document.dispatchEvent(new Event("swapped"));
  } catch (error) {
    if (error.name !== "AbortError") console.warn("find:", error);
  } finally {
    if (!abort.signal.aborted) into.removeAttribute("aria-busy");
  }
}

// entered is what a person put into a region that is about to be replaced, each
// with how to put it into the one that comes: an answer is not to take words away.
function entered(into) {
  const differs = (f) => f.matches("[type=radio], [type=checkbox]") ? f.checked && !f.defaultChecked
    : f.matches("select") ? f.selectedOptions[0] && !f.selectedOptions[0].defaultSelected : f.value !== f.defaultValue;
  const changed = [...into.querySelectorAll("input:not([type=hidden], [type=file]), textarea, select")].filter((f) => f.name && differs(f));
  return changed.map(({ name, value, type, checked }) => (fresh) => {
    const same = [...fresh.querySelectorAll("input, textarea, select")].find((f) => f.name === name && (!checked || f.value === value));
    if (!same || same.type !== type || same.matches("select") && ![...same.options].some((o) => o.value === value)) return;
    if (checked) same.checked = true;
    else same.value = value;
  });
}
