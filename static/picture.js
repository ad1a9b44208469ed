// picture.js: pictures made small before they are sent. A file field with
// data-shots="/bench/7/pictures" sends each picture there as it is chosen and
// puts what comes back into the list that data-list names; what cannot be sent
// stays in the field and goes with the form. One with data-shrink is made small
// alone. Without this script, or where the browser cannot read a picture, the
// original goes with the form, and the server makes it small.

const side = 2048; // pixels of the longer side, as the server keeps it
const quality = 0.85;

dress(document);
document.addEventListener("swapped", () => dress(document));

// The field itself is hidden where a script says what was chosen.
function dress(root) {
  for (const field of root.querySelectorAll("input[data-shots], input[data-shrink]")) field.closest("label").classList.add("dressed");
}

document.addEventListener("change", async (event) => {
  const field = event.target;
  if (!field.matches?.("input[data-shots], input[data-shrink]") || field.files.length === 0) return;
  note(field, "One moment …");
  const files = await Promise.all([...field.files].map(shrink));
  fill(field, files);
  if (field.dataset.shots) await sendAll(field, files);
  else note(field, files.length === 1 ? "Ready to be kept." : `${files.length} ready to be kept.`);
});

// shrink gives back a smaller JPEG, the right way up; the file itself where it
// is small already, or is not one that this browser can read.
async function shrink(file) {
  try {
    const image = await createImageBitmap(file, { imageOrientation: "from-image" });
    const scale = Math.min(1, side / Math.max(image.width, image.height));
    if (scale === 1 && file.type === "image/jpeg" && file.size < 1 << 20) return file;
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(image.width * scale));
    canvas.height = Math.max(1, Math.round(image.height * scale));
    const on = canvas.getContext("2d");
    on.fillStyle = "#fff";
    on.fillRect(0, 0, canvas.width, canvas.height);
    on.drawImage(image, 0, 0, canvas.width, canvas.height);
    image.close();
    const small = await new Promise((done) => canvas.toBlob(done, "image/jpeg", quality));
    return small ? new File([small], "picture.jpg", { type: "image/jpeg" }) : file;
  } catch {
    return file;
  }
}

function fill(field, files) {
  const chosen = new DataTransfer();
  for (const file of files) chosen.items.add(file);
  field.files = chosen.files;
}

// sendAll sends them one by one. The form's own id goes along: what reached the
// server though its answer did not reach us is not stored twice.
async function sendAll(field, files) {
  const left = [];
  let kept = 0;
  let wrong = "";
  for (const file of files) {
    try {
      const answer = await fetch(field.dataset.shots, { method: "POST", body: letter(field, file), headers: { Accept: "text/html" } });
      const text = await answer.text();
      if (answer.ok && !answer.redirected) {
        add(field, text);
        kept++;
      } else if (answer.status === 422 && answer.headers.get("Content-Type")?.startsWith("text/plain")) {
        wrong = text.trim();
      } else {
        left.push(file);
      }
    } catch {
      left.push(file);
    }
  }
  fill(field, left);
  note(field, wrong || (left.length > 0 ? "Not sent yet: it goes with the next press." : kept === 1 ? "Picture kept." : `${kept} pictures kept.`));
}

function letter(field, file) {
  const body = new FormData();
  for (const name of ["intent", "as", "draft"]) body.set(name, field.form.elements[name]?.value ?? "");
  body.set("part", field.dataset.part ?? "");
  if (field.dataset.atStep) body.set("step", field.dataset.atStep);
  body.set("file", file);
  return body;
}

function add(field, html) {
  const fresh = new DOMParser().parseFromString(`<ul>${html}</ul>`, "text/html").querySelector("ul");
  const list = document.getElementById(field.dataset.list);
  list?.append(...document.importNode(fresh, true).children);
  list?.lastElementChild?.querySelector("input")?.dispatchEvent(new Event("change", { bubbles: true }));
}

function note(field, words) {
  const line = field.closest(".shots")?.querySelector(".shot-note");
  if (line) line.textContent = words;
}
