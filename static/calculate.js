// calculate.js: a form with data-calculates answers as it is typed in. Its
// address is fetched with what the fields hold, the element of that id is taken
// from the answer, and the page's address follows, so that it can be shared.
// What was answered before is hidden at the first key, since it is about other
// numbers; where no answer comes, that is said in its place.
// Without this script the form's button does the same.

const wait = 250; // ms of quiet before asking
let timer;
let asking;

document.addEventListener("input", (event) => {
  const form = event.target.closest("form[data-calculates]");
  if (!form) return;
  document.getElementById(form.dataset.calculates).setAttribute("aria-busy", "true");
  clearTimeout(timer);
  timer = setTimeout(() => calculate(form), wait);
});

async function calculate(form) {
  asking?.abort();
  asking = new AbortController();
  const address = new URL(form.action);
  address.search = new URLSearchParams(new FormData(form));
  const into = document.getElementById(form.dataset.calculates);
  try {
    const answer = await fetch(address, { signal: asking.signal, headers: { Accept: "text/html" } });
    if (answer.redirected) throw new Error("signed out");
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById(into.id);
    if (!fresh) throw new Error(`no answer, status ${answer.status}`);
    into.replaceWith(document.adoptNode(fresh));
    history.replaceState(history.state, "", address);
  } catch (error) {
    if (error.name === "AbortError") return;
    console.warn("calculate:", error);
    unanswered(into);
  }
}

function unanswered(into) {
  const words = document.createElement("p");
  words.className = "quiet";
  words.textContent = into.dataset.unanswered;
  into.replaceChildren(words);
  into.removeAttribute("aria-busy");
}
