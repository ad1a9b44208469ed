// scan.js: a hand scanner is a keyboard that types a code faster than anybody
// can and ends it with Enter. Such a burst leads to what the code stands for,
// from any page of whoever is signed in. In a text field it stays what was
// typed there, a serial for one, unless it is the address of a ticket or of a
// customer's page: that is taken out of the field again, and followed. Other
// keys of the page never see a burst, and Enter does not press what has the
// focus. Where a form is marked [data-scan], other codes go to its field named
// scan and send it, wherever they were typed: a barcode is no amount.

const quick = 50; // ms from key to key; people need more
const toEnter = 120; // some scanners pause before it
const least = 3;
const ours = /[/-]tickets[/-][1-9][0-9]*\/?$|\/c\/[A-Za-z0-9_-]{20,}\/?$/;
const noText = ["button", "checkbox", "color", "file", "image", "radio", "range", "reset", "submit"];

let burst = null;
let leaving = false;

if (document.body.dataset.person) {
  addEventListener("keydown", key, true);
  // The press of the Enter that was followed sends no form either.
  addEventListener("keypress", (event) => { if (leaving && event.key === "Enter") swallow(event); }, true);
  addEventListener("pageshow", () => { leaving = false; });
}

function key(event) {
  if (event.key === "Shift" || event.key === "CapsLock") return;
  if (event.key === "Enter" && !event.repeat) return end(event);
  if (event.key?.length !== 1 || event.repeat || event.ctrlKey || event.altKey || event.metaKey || event.isComposing) {
    burst = null;
    return;
  }
  const at = event.target;
  if (burst?.at === at && event.timeStamp - burst.last < quick) {
    burst.text += event.key;
    burst.last = event.timeStamp;
    if (!isText(at)) swallow(event);
  } else {
    burst = { text: event.key, last: event.timeStamp, at, before: at.value };
  }
}

function end(event) {
  const scanned = burst;
  burst = null;
  if (!scanned || scanned.at !== event.target || event.timeStamp - scanned.last > toEnter || scanned.text.length < least) return;
  const form = ours.test(scanned.text) ? null : document.querySelector("form[data-scan]");
  if (form?.elements.scan === scanned.at) return;
  if (!form && isText(scanned.at) && !ours.test(scanned.text)) return;
  swallow(event);
  putBack(scanned);
  leaving = true;
  if (form) {
    form.elements.scan.value = scanned.text;
    return form.requestSubmit();
  }
  location.assign("/codes?code=" + encodeURIComponent(scanned.text));
}

function putBack({ at, before }) {
  if (!at.matches?.("input, select, textarea") || at.value === before) return;
  at.value = before;
  at.dispatchEvent(new Event(at.matches("select") ? "change" : "input", { bubbles: true }));
}

function isText(at) {
  return at.matches?.("textarea, [contenteditable]") || (at.matches?.("input") && !noText.includes(at.type));
}

function swallow(event) {
  event.preventDefault();
  event.stopImmediatePropagation();
}
