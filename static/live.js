// live.js: keeps a page current. <body data-live="board"> names a subject with
// a stream of server-sent events at /live; any event, and every (re)connect, makes the page fetch
// itself again and swap its elements marked [data-live-part] by id. It says by
// data-seen what it had seen when it was opened, so that the answer can tell
// what is new since. The stream
// It tells other scripts by the event "live" whether it follows, and fetches when
// one of them asks by the event "follow". The stream
// is open only while the page is visible, because a browser allows few
// connections to one host.

const subject = document.body.dataset.live;
let stream;
let timer;
let fetching = false;
let again = false;

if (subject) {
  document.addEventListener("visibilitychange", follow);
  addEventListener("pagehide", close);
  addEventListener("pageshow", follow);
  document.addEventListener("follow", soon);
  follow();
}

function follow() {
  if (document.hidden) {
    close();
    return;
  }
  if (stream) return;
  stream = new EventSource(`/live?of=${encodeURIComponent(subject)}`);
  stream.addEventListener("open", () => { say(true); soon(); });
  stream.addEventListener("message", soon);
  stream.addEventListener("error", () => {
    say(false);
    if (stream?.readyState === EventSource.CLOSED) retry();
  });
}

function close() {
  stream?.close();
  stream = undefined;
  clearTimeout(timer);
  say(false);
}

// A refused stream does not come back by itself, unlike a broken one.
function retry() {
  close();
  timer = setTimeout(follow, 5000);
}

// Events that come close together make one fetch.
function soon() {
  clearTimeout(timer);
  timer = setTimeout(refresh, 120);
}

async function refresh() {
  if (fetching) {
    again = true;
    return;
  }
  fetching = true;
  try {
    const headers = { Accept: "text/html", "Page-Seen": document.body.dataset.seen ?? "" };
    const answer = await fetch(location.href, { headers, cache: "no-store" });
    if (answer.ok && !answer.redirected) {
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (fresh.body.dataset.person === document.body.dataset.person) swap(fresh);
      else close(); // somebody else signed in: this page is not theirs
    } else if (answer.redirected || answer.status === 401) {
      close(); // signed out: leave what is on the page to be read
    }
  } catch {
    say(false);
  } finally {
    fetching = false;
    if (again) {
      again = false;
      soon();
    }
  }
}

function swap(fresh) {
  let changed = false;
  for (const old of document.querySelectorAll("[data-live-part]")) {
    const next = fresh.getElementById(old.id);
    if (!next || busy(old) || next.isEqualNode(old)) continue;
    const held = focusIn(old);
    const part = document.importNode(next, true);
    for (const open of old.querySelectorAll("details[id][open]")) part.querySelector(`#${open.id}`)?.setAttribute("open", "");
    old.replaceWith(part);
    held?.(part);
    changed = true;
  }
  if (changed) document.dispatchEvent(new Event("swapped"));
  say(true);
}

// A part in which somebody is typing or has chosen something waits for the
// next time.
function busy(part) {
  if (part.contains(document.activeElement) && document.activeElement.matches("input, select, textarea")) return true;
  return [...part.querySelectorAll("input, select, textarea")].some((field) => {
    if (field.type === "hidden") return false;
    if (field.type === "checkbox" || field.type === "radio") return field.checked !== field.defaultChecked;
    if (field.options) return field.selectedIndex !== Math.max(0, [...field.options].findIndex((o) => o.defaultSelected));
    return field.value !== field.defaultValue;
  });
}

// focusIn remembers which element of the part has the focus, by id, else by
// where its link goes or its form is sent, and gives back how to return the
// focus.
function focusIn(part) {
  const at = document.activeElement;
  if (!part.contains(at)) return undefined;
  const href = at.getAttribute("href");
  const action = at.form?.getAttribute("action");
  return (fresh) => {
    const same = (at.id && document.getElementById(at.id))
      || (href && [...fresh.querySelectorAll("a[href]")].find((a) => a.getAttribute("href") === href))
      || (action && [...fresh.querySelectorAll("button")].find((b) => b.form?.getAttribute("action") === action && b.value === at.value));
    same?.focus({ preventScroll: true });
  };
}

function say(on) {
  document.dispatchEvent(new CustomEvent("live", { detail: on }));
  for (const word of document.querySelectorAll("[data-live-state]")) {
    const text = on ? word.dataset.on : word.dataset.off;
    if (word.textContent !== text) word.textContent = text; // a change is read out
    word.classList.toggle("dash", !on);
  }
}
