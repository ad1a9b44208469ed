// wait.js: tells when a wait is over. [data-wait] holds the moment it ends and
// [data-now] the server's time, because a tablet's own clock may be wrong. What
// it says without this script, "till 14:35", stays beside the minutes left.

const waits = [...document.querySelectorAll("[data-wait]")].map((mark) => ({
  mark, till: Date.parse(mark.dataset.wait), ahead: Date.parse(mark.dataset.now) - Date.now(), over: false,
}));

if (waits.length > 0) {
  tick();
  setInterval(tick, 1000);
}

function tick() {
  for (const wait of waits) {
    if (wait.over) continue;
    const left = Math.ceil((wait.till - wait.ahead - Date.now()) / 1000);
    if (left > 0) {
      show(wait.mark, `${wait.mark.dataset.words}, ${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")} left`);
      continue;
    }
    wait.over = true;
    if (wait.mark.dataset.over) tell(wait.mark);
  }
}

// tell says it where it is read out, in the title for whoever looks at another
// page, and by a buzz where the tablet has one.
function tell(mark) {
  show(mark, mark.dataset.over);
  mark.setAttribute("role", "status");
  if (mark.dataset.told !== undefined) return; // it was over when the page came
  document.title = `${mark.dataset.over} · ${document.title}`;
  navigator.vibrate?.([400, 200, 400]);
}

function show(mark, words) {
  if (mark.textContent !== words) mark.textContent = words;
}
