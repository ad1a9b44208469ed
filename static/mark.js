// mark.js: marks a drawing by a tap. Within [data-marks] a tap on the drawing
// chooses the nearest place in the first .mark row of which nothing is said yet,
// numbers it on the drawing and goes on to what is there. The options of a row
// carry their places as data-x and data-y. Without this script the rows do.

document.addEventListener("click", (event) => {
  const drawing = event.target.closest("[data-marks] svg");
  if (!drawing) return;
  const rows = [...drawing.closest("[data-marks]").querySelectorAll(".mark")];
  const free = rows.findIndex((row) => row.querySelector("input").value === "");
  if (free < 0) return;
  const choice = rows[free].querySelector("select");
  choice.value = nearest(choice, at(drawing, event)).value;
  choice.dispatchEvent(new Event("change", { bubbles: true }));
  rows[free].querySelector("input").focus();
});

document.addEventListener("change", (event) => draw(event.target.closest("[data-marks]")));
document.addEventListener("swapped", drawAll);
drawAll();

function drawAll() {
  for (const part of document.querySelectorAll("[data-marks]")) draw(part);
}

// at is where in the drawing's own units the tap was.
function at(drawing, event) {
  return new DOMPoint(event.clientX, event.clientY).matrixTransform(drawing.getScreenCTM().inverse());
}

function nearest(choice, point) {
  const far = (o) => Math.hypot(o.dataset.x - point.x, o.dataset.y - point.y);
  return [...choice.options].filter((o) => o.dataset.x).reduce((best, o) => (far(o) < far(best) ? o : best));
}

// draw numbers the places that are chosen.
function draw(part) {
  const drawing = part?.querySelector("svg");
  if (!drawing) return;
  for (const tag of drawing.querySelectorAll(".tag")) tag.remove();
  part.querySelectorAll(".mark select").forEach((choice, i) => {
    const { x, y } = choice.selectedOptions[0]?.dataset ?? {};
    if (x) drawing.append(tag(drawing.namespaceURI, x, y, i + 1));
  });
}

function tag(names, x, y, number) {
  const group = document.createElementNS(names, "g");
  group.setAttribute("class", "tag");
  const circle = document.createElementNS(names, "circle");
  for (const [name, value] of [["cx", x], ["cy", y], ["r", 14]]) circle.setAttribute(name, value);
  const text = document.createElementNS(names, "text");
  text.setAttribute("x", x);
  text.setAttribute("y", y);
  text.textContent = number;
  group.append(circle, text);
  return group;
}
