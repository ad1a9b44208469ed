// usual.js: ticks several choices with one press. A button[data-ticks="a b"]
// ticks those values of the fields named by data-ticks-in that the page offers
// just now. Without this script the server ticks them.

document.addEventListener("click", (event) => {
  const button = event.target.closest?.("button[data-ticks]");
  if (!button) return;
  event.preventDefault();
  const values = button.dataset.ticks.split(" ");
  for (const field of button.form.elements) {
    if (field.name !== button.dataset.ticksIn || !values.includes(field.value)) continue;
    const shown = field.closest("label").getClientRects().length > 0;
    if (!shown || field.disabled || field.checked) continue;
    field.checked = true;
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.dispatchEvent(new Event("change", { bubbles: true }));
  }
});
