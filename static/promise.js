// promise.js: works the ready-by and the price out again as a form changes. An element with
// data-promise="/path" asks /path?<the fields that matter> for HTML and shows
// it; what was proposed before and is still chosen goes along with the new
// proposal. Without this script the form's own button does.

const matters = /^(unit\d+\.(unit|model|services|cameas|mechanic|payer|payerwords|again)|customer|booked|promised|limit)$/;
const sent = /^(unit\d+\.(unit|model|services|cameas|mechanic|payer|payerwords|again)|units|booked|promise|promised|proposed|limit)$/;
const quiet = 300; // ms

const part = document.querySelector("[data-promise]");
const form = part?.closest("form");
let timer, abort;

if (form) {
  hideButton();
  form.addEventListener("change", (event) => {
    if (matters.test(event.target.name)) soon();
  });
  document.addEventListener("swapped", (event) => {
    if (event.detail !== part) soon();
  });
}

function hideButton() {
  for (const button of part.querySelectorAll("[data-works]")) button.hidden = true;
}

function soon() {
  clearTimeout(timer);
  timer = setTimeout(work, quiet);
}

async function work() {
  abort?.abort();
  abort = new AbortController();
  const address = new URL(part.dataset.promise, location.href);
  for (const [name, value] of new FormData(form)) {
    if (sent.test(name) && typeof value === "string") address.searchParams.append(name, value);
  }
  part.setAttribute("aria-busy", "true");
  const { signal } = abort;
  try {
    const answer = await fetch(address, { signal, headers: { Accept: "text/html" } });
    if (!answer.ok || answer.redirected) return;
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (!signal.aborted) put(fresh.body);
  } catch (error) {
    if (error.name !== "AbortError") console.warn("promise:", error);
  } finally {
    if (!signal.aborted) part.removeAttribute("aria-busy");
  }
}

// The focus stays on the field it was on, and what was typed since in it.
function put(body) {
  const at = part.contains(document.activeElement) ? document.activeElement : null;
  const typed = part.querySelector('[name="promised"]')?.value;
  part.replaceChildren(...document.adoptNode(body).childNodes);
  hideButton();
  const time = part.querySelector('[name="promised"]');
  if (time && typed !== undefined) time.value = typed;
  if (at?.name) {
    const same = [...part.querySelectorAll(`[name="${CSS.escape(at.name)}"]`)];
    (same.find((f) => f.type !== "radio" || f.value === at.value) ?? same.find((f) => f.checked))?.focus();
  }
}
