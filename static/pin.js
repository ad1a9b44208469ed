// pin.js: a pad of keys beside a PIN field, for fingers. [data-pad] is hidden
// until this script runs; its buttons write into the form's field "pin", and
// the tablet's own keyboard stays away. Where the form asks who it is, the label
// [data-pin-of] and the button[data-go] say so of whoever is chosen.

for (const pad of document.querySelectorAll("[data-pad]")) {
  const field = pad.closest("form").elements.pin;
  pad.hidden = false;
  field.inputMode = "none";
  pad.addEventListener("click", (event) => {
    const key = event.target.closest("button");
    if (key) press(field, key);
  });
}

function press(field, key) {
  const most = field.maxLength > 0 ? field.maxLength : Infinity;
  switch (key.dataset.padKey) {
    case "clear":
      field.value = "";
      break;
    case "back":
      field.value = field.value.slice(0, -1);
      break;
    default:
      if (field.value.length < most) field.value += key.textContent.trim();
  }
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

for (const label of document.querySelectorAll("[data-pin-of]")) {
  const form = label.closest("form");
  form.addEventListener("change", (event) => {
    if (event.target.name !== "who") return;
    form.elements.pin.value = ""; // one person's digits are not another's
    name(form, label);
  });
  addEventListener("pageshow", () => name(form, label));
}

function name(form, label) {
  const who = form.querySelector('[name="who"]:checked');
  const go = form.querySelector("button[data-go]");
  label.textContent = who ? `PIN of ${who.dataset.name}` : "PIN";
  if (go && who?.dataset.go) go.textContent = who.dataset.go;
}
