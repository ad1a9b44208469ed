// clock.js: keeps a clock going. [data-clock] names the shop's time zone and is
// hidden until this script runs, because the time in it stands still without.
// It counts on from the server's time: a tablet's own clock may be wrong.

for (const clock of document.querySelectorAll("[data-clock]")) {
  const time = clock.querySelector("time");
  const ahead = Date.parse(time.dateTime) - Date.now();
  const words = new Intl.DateTimeFormat("en-GB", { timeZone: clock.dataset.clock, hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
  const tick = () => {
    const now = words.format(Date.now() + ahead);
    if (time.textContent !== now) time.textContent = now;
  };
  tick();
  clock.hidden = false;
  setInterval(tick, 1000);
}
