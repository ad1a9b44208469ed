// steps.js: numbers without typing. A field with data-step="0.5" gets a minus
// and a plus beside it; data-from says where an empty one begins. In a
// [data-keys] group the big keys and the field for another number exclude each
// other, and [data-tools] follows the tool that is chosen. On the server the
// field counts before the keys, so the group also works without this script.

dress(document);
document.addEventListener("swapped", () => dress(document));

function dress(root) {
  for (const field of root.querySelectorAll("input[data-step]")) {
    if (field.parentElement.classList.contains("stepper")) continue;
    const name = field.labels?.[0]?.firstChild?.textContent.trim() || field.getAttribute("aria-label") || "";
    const box = document.createElement("span");
    box.className = "stepper";
    field.replaceWith(box);
    box.append(press("−", `${name}, less`, -1), field, press("+", `${name}, more`, 1));
  }
}

function press(sign, name, by) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "button";
  button.textContent = sign;
  button.setAttribute("aria-label", name);
  button.dataset.by = by;
  return button;
}

document.addEventListener("click", (event) => {
  const button = event.target.closest(".stepper > [data-by]");
  if (button) step(button.parentElement.querySelector("input"), Number(button.dataset.by));
});

document.addEventListener("change", (event) => {
  const group = event.target.closest("[data-keys]");
  if (!group || event.target.type !== "radio") return;
  for (const other of others(group)) other.value = "";
});

document.addEventListener("input", (event) => {
  const group = event.target.closest("[data-keys]");
  if (!group || event.target.type === "radio" || event.target.value === "") return;
  for (const key of group.querySelectorAll("input[type=radio]")) key.checked = false;
});

// Another tool has other marks: its keys come from the step's own page. Should
// they not come, the server asks again rather than take a number of the one
// before.
document.addEventListener("change", async (event) => {
  const tool = event.target;
  const path = document.querySelector("[data-tools]")?.dataset.tools;
  if (tool.name !== "tool" || !path) return;
  try {
    const answer = await fetch(`${path}?tool=${encodeURIComponent(tool.value)}`, { headers: { Accept: "text/html" }, cache: "no-store" });
    if (!answer.ok || answer.redirected) return;
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("[data-tools]");
    if (!fresh || !tool.checked) return;
    document.querySelector("[data-tools]").replaceWith(document.importNode(fresh, true));
    document.dispatchEvent(new Event("swapped"));
  } catch (error) {
    console.warn("steps:", error);
  }
});

function others(group) {
  return group.querySelectorAll("input:not([type=radio]):not([type=hidden])");
}

// step leaves alone what it cannot read as a plain number. One typed with a unit
// of its own goes by its last digit and keeps the unit: the marks and limits of
// the field are in the field's.
function step(field, direction) {
  const typed = /^\s*([−-]?\d*[.,]?\d+)(.*)$/.exec(field.value);
  if (field.value.trim() !== "" && !typed) return;
  const ownUnit = typed?.[2].trim();
  const places = decimals(ownUnit ? typed[1] : field.dataset.step);
  const size = ownUnit ? 10 ** -places : Number(field.dataset.step);
  const now = typed ? read(typed[1]) : start(field);
  const marks = direction > 0 ? Math.floor(now / size + 1e-9) + 1 : Math.ceil(now / size - 1e-9) - 1;
  const next = ownUnit ? Math.max(0, marks * size) : bound(field, marks * size);
  field.value = next.toFixed(places) + (typed ? typed[2] : "");
  field.dispatchEvent(new Event("input", { bubbles: true }));
  field.dispatchEvent(new Event("change", { bubbles: true }));
}

function start(field) {
  const chosen = field.closest("[data-keys]")?.querySelector("input[type=radio]:checked");
  return read(chosen?.value || field.dataset.from || "0");
}

// read takes the number before a unit, as the keys have it: "7.3 N·m".
function read(text) {
  return parseFloat(text.replace("−", "-").replace(",", ".")) || 0;
}

function bound(field, number) {
  const { least = "0", most } = field.dataset;
  return Math.min(Math.max(number, Number(least)), most === undefined ? Infinity : Number(most));
}

function decimals(text) {
  return (text.split(/[.,]/)[1] || "").length;
}
