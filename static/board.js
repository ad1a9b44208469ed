// board.js: the board by keyboard. J and K move from ticket to ticket, so do the
// arrows from the first one on, Enter opens the one reached (it is a link), / goes
// to the find box. Only plain
// keys, only outside fields, and only until somebody turns them off: speech
// input may type single letters by mistake.

const off = "keys-off";

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || event.isComposing || event.defaultPrevented) return;
  if (event.target.closest?.("input, select, textarea, [contenteditable]") || isOff()) return;
  switch (event.key) {
    case "j": case "J": move(event, 1); break;
    case "k": case "K": move(event, -1); break;
    case "ArrowDown": if (reached() >= 0) move(event, 1); break; // else the page scrolls
    case "ArrowUp": if (reached() >= 0) move(event, -1); break;
    case "/": find(event); break;
  }
});

for (const button of document.querySelectorAll("[data-keys-switch]")) {
  button.hidden = false;
  label(button);
  button.addEventListener("click", () => {
    if (isOff()) localStorage.removeItem(off);
    else localStorage.setItem(off, "yes");
    label(button);
  });
}

function label(button) {
  button.textContent = isOff() ? button.dataset.on : button.dataset.off;
}

function isOff() {
  return localStorage.getItem(off) !== null;
}

function tickets() {
  return [...document.querySelectorAll(".board .no a")];
}

function reached() {
  return tickets().findIndex((link) => link.closest("tr").contains(document.activeElement));
}

function move(event, by) {
  const rows = tickets();
  if (rows.length === 0) return;
  event.preventDefault();
  const at = reached();
  const next = at < 0 ? (by > 0 ? 0 : rows.length - 1) : Math.min(Math.max(at + by, 0), rows.length - 1);
  rows[next].focus();
}

function find(event) {
  const box = document.querySelector("input[type=search]");
  if (!box) return;
  event.preventDefault();
  box.focus();
  box.select();
}
