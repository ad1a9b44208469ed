// awake.js: keeps the screen of a bench page lit. A browser gives the lock over
// HTTPS alone and takes it back whenever the page is out of sight.

if (document.body.classList.contains("bench") && navigator.wakeLock) {
  const hold = async () => {
    if (document.hidden) return;
    try {
      await navigator.wakeLock.request("screen");
    } catch (error) {
      console.info("awake:", error.message); // a low battery, as a rule
    }
  };
  document.addEventListener("visibilitychange", hold);
  hold();
}
