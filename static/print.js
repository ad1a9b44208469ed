// print.js: a [data-print] button prints the page. It is hidden where there are
// no scripts; the browser's own command prints too.

for (const button of document.querySelectorAll("[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => print());
}
