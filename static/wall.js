// wall.js: turns the pages of the board on the wall. [data-wall] says after how
// many seconds; each tbody is a page, and those not shown are hidden. With every
// turn it asks live.js to fetch the page, so that a server that is gone without
// a word is noticed too. It says live and when, or stale and since when.

const wall = document.querySelector("[data-wall]");
let at = 0;
let seen = new Date();

if (wall) {
  const pages = () => [...wall.querySelectorAll("tbody")];
  at = Math.max(pages().findIndex((page) => !page.hidden), 0);
  document.addEventListener("swapped", show);
  document.addEventListener("live", (event) => say(event.detail));
  document.addEventListener("turn", () => {
    at = (at + 1) % Math.max(pages().length, 1);
    show();
    document.dispatchEvent(new Event("follow"));
  });
  setInterval(() => document.dispatchEvent(new Event("turn")), Number(wall.dataset.wall) * 1000);

  function show() {
    const all = pages();
    at = Math.min(at, Math.max(all.length - 1, 0));
    all.forEach((page, i) => { page.hidden = i !== at; });
    const words = wall.querySelector("[data-wall-page]");
    if (words && all.length > 1) words.textContent = `Page ${at + 1} of ${all.length}, turns every ${wall.dataset.wall} seconds.`;
  }

  function say(live) {
    const state = wall.querySelector("[data-wall-state]");
    if (live) seen = new Date();
    const words = live ? `${state.dataset.liveWord}, ${clock(seen, "medium")}` : `${state.dataset.staleWord} ${clock(seen, "short")}`;
    state.textContent = words;
    state.classList.remove("dash");
    state.classList.toggle("peak", !live);
    state.classList.toggle("plate", !live);
  }
}

function clock(time, style) {
  const zone = document.querySelector("[data-clock]").dataset.clock;
  return new Intl.DateTimeFormat("en-GB", { timeZone: zone, timeStyle: style, hourCycle: "h23" }).format(time);
}
