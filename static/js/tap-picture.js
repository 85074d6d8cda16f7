// Taps on a photo of the drive: rim points of each pulley in belt order, then the points of the known size. The page keeps
// the points in one field and draws them; what they mean is computed by the core, which answers with the route.

import { SENTENCES } from "./words.js";

const RIM_POINTS = 3;
const SIZE_POINTS = { pulley: 0, distance: 2, rectangle: 4 };
const REACH = 24; // A finger this near to a point takes it along [CSS px].
const STILL = 5; // A finger that moves no further only tapped [CSS px].
const LENS = 150;
const ENLARGED = 3.5;
const SVG = "http://www.w3.org/2000/svg";
const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

const form = document.querySelector("#ask");
const stage = document.querySelector("#tap-stage");
const layer = document.querySelector("#tap-points");
const lens = document.querySelector("#tap-lens");
const field = form.elements.taps;
const rows = [...form.querySelectorAll("[data-pulley]")];
const width = Number(stage.dataset.width);
const height = Number(stage.dataset.height);

let taps = { rims: [], size: [] };
let held = null; // The point under the finger, with its distance from it.
let last = null;
let sizing = false; // Taps go to the known size.

// ---- the points ----

function read() {
  try {
    const value = JSON.parse(field.value);
    taps = { rims: value.rims, size: value.size };
  } catch {
    taps = { rims: [], size: [] };
  }
}

const sizeKind = () => form.elements.size.value || "pulley";
const wanted = () => SIZE_POINTS[sizeKind()];
const isWhole = (rim) => rim.length >= RIM_POINTS;

function keep() {
  field.value = taps.rims.length || taps.size.length ? JSON.stringify(taps) : "";
  show();
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

function all() {
  return [...taps.rims.flat(), ...taps.size];
}

function add(point) {
  if (sizing && taps.size.length < wanted()) {
    taps.size.push(point);
    sizing = taps.size.length < wanted();
    return point;
  }
  const open = taps.rims.at(-1);
  if (open && !isWhole(open)) open.push(point);
  else if (taps.rims.length < rows.length) taps.rims.push([point]);
  else return null;
  return point;
}

function undo() {
  last = null;
  if (sizing && taps.size.length) taps.size.pop();
  else if (taps.rims.length) {
    taps.rims.at(-1).pop();
    if (!taps.rims.at(-1).length) taps.rims.pop();
  }
  keep();
}

function takeOut(index) {
  taps.rims.splice(index, 1);
  // What was said of the pulleys after it moves up with them; the first stays the crankshaft.
  for (let k = index; k + 1 < rows.length; k++) {
    for (const name of ["kind_", "face_"]) {
      const here = form.elements[name + k];
      const next = form.elements[name + (k + 1)];
      if (k || name === "face_") here.value = next.value;
    }
  }
  keep();
}

// ---- showing ----

function prompt() {
  if (sizing) return SENTENCES[sizeKind() === "distance" ? "tapDistance" : "tapRectangle"].replace("{count}", wanted() - taps.size.length);
  const open = taps.rims.at(-1);
  if (!open) return SENTENCES.tapCrank;
  const number = isWhole(open) ? taps.rims.length + 1 : taps.rims.length;
  if (number > rows.length) return SENTENCES.tapFull;
  const rest = isWhole(open) ? RIM_POINTS : RIM_POINTS - open.length;
  return SENTENCES[isWhole(open) ? "tapNext" : "tapRim"].replace("{number}", number).replace("{count}", rest);
}

function mark(point, text, kind) {
  const unit = width / stage.clientWidth;
  const group = document.createElementNS(SVG, "g");
  group.setAttribute("class", kind);
  group.setAttribute("transform", `translate(${point[0]} ${point[1]}) scale(${unit})`);
  const dot = document.createElementNS(SVG, "circle");
  dot.setAttribute("r", 5);
  group.append(dot);
  if (text) {
    const words = document.createElementNS(SVG, "text");
    words.setAttribute("y", -10);
    words.textContent = text;
    group.append(words);
  }
  return group;
}

function show() {
  layer.replaceChildren(
    ...taps.rims.flatMap((rim, k) => rim.map((point, i) => mark(point, i ? "" : String(k + 1), "tap-point"))),
    ...taps.size.map((point) => mark(point, "", "tap-size")));
  rows.forEach((row, k) => { row.hidden = k >= taps.rims.length; });
  form.querySelector("[data-no-pulleys]").hidden = taps.rims.length > 0;
  [...form.elements.size_pulley.options].forEach((option, k) => { option.hidden = k > 0 && k >= taps.rims.length; });
  form.querySelectorAll("[data-for-size]").forEach((part) => { part.hidden = !part.dataset.forSize.split(" ").includes(sizeKind()); });
  document.querySelector("#tap-prompt").textContent = prompt();
  document.querySelector("#tap-undo").disabled = !all().length;
}

function showLens(point, event) {
  const box = stage.getBoundingClientRect();
  const shown = LENS / (box.width / width * ENLARGED);
  const svg = lens.firstElementChild;
  svg.setAttribute("viewBox", `${point[0] - shown / 2} ${point[1] - shown / 2} ${shown} ${shown}`);
  const arm = shown / 2;
  const gap = shown / 30;
  const cross = [[-arm, -gap], [gap, arm]].map(([from, to]) =>
    `M${point[0] + from} ${point[1]}H${point[0] + to}M${point[0]} ${point[1] + from}V${point[1] + to}`).join("");
  svg.querySelectorAll("path").forEach((path) => path.setAttribute("d", cross));
  // Away from the finger.
  lens.classList.toggle("tap-lens-right", event.clientX - box.left < box.width / 2);
  lens.hidden = false;
}

// ---- fingers and keys ----

function place(event) {
  const box = stage.getBoundingClientRect();
  return [(event.clientX - box.left) * width / box.width, (event.clientY - box.top) * height / box.height];
}

function inside([x, y]) {
  const round = (value) => Math.round(value * 10) / 10;
  return [round(Math.min(width, Math.max(0, x))), round(Math.min(height, Math.max(0, y)))];
}

function near(at) {
  const reach = REACH * width / stage.clientWidth;
  const far = (point) => Math.hypot(point[0] - at[0], point[1] - at[1]);
  const found = all().filter((point) => far(point) < reach).sort((a, b) => far(a) - far(b));
  return found[0];
}

// A tap sets a point, also close to another one: the rims of small pulleys are small. A drag that starts at a point moves it.
stage.addEventListener("pointerdown", (event) => {
  if (!event.isPrimary || event.button) return;
  const at = place(event);
  const taken = near(at);
  const point = taken ?? add(inside(at));
  if (!point) return;
  held = { point, id: event.pointerId, at, isTap: Boolean(taken), dx: point[0] - at[0], dy: point[1] - at[1] };
  stage.setPointerCapture(event.pointerId);
  show();
  showLens(point, event);
});

stage.addEventListener("pointermove", (event) => {
  if (!held || held.id !== event.pointerId) return;
  const at = place(event);
  const far = Math.hypot(at[0] - held.at[0], at[1] - held.at[1]) * stage.clientWidth / width;
  if (held.isTap && far < STILL) return;
  held.isTap = false;
  held.point.splice(0, 2, ...inside([at[0] + held.dx, at[1] + held.dy]));
  show();
  showLens(held.point, event);
});

for (const name of ["pointerup", "pointercancel"]) {
  stage.addEventListener(name, (event) => {
    if (!held || held.id !== event.pointerId) return;
    last = held.isTap && name === "pointerup" ? add(inside(held.at)) : held.point;
    held = null;
    lens.hidden = true;
    keep();
  });
}

stage.addEventListener("keydown", (event) => {
  const step = STEPS[event.key];
  if (!step || !last || !all().includes(last)) return;
  event.preventDefault();
  last.splice(0, 2, ...inside([last[0] + step[0], last[1] + step[1]]));
  keep();
});

document.querySelector("#tap-undo").addEventListener("click", undo);

form.addEventListener("click", (event) => {
  const button = event.target.closest("[data-take-out]");
  if (button) takeOut(Number(button.dataset.takeOut));
});

form.addEventListener("change", (event) => {
  if (event.target.name !== "size") return;
  taps.size = [];
  sizing = wanted() > 0;
  keep();
  if (sizing) document.querySelector("#tap-prompt").scrollIntoView({ block: "start" });
});

// A draft that comes back fills the field from outside.
field.addEventListener("input", () => {
  const told = field.value;
  if (told && told !== JSON.stringify(taps)) {
    read();
    show();
  }
});

read();
sizing = taps.size.length < wanted() && taps.size.length > 0;
show();
