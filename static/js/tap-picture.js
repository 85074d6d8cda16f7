// Taps on a photo of the drive: rim points of each pulley in belt order, then the points of the known size. The page keeps
// the points in one field and draws them; what they mean is computed by the core, which answers with the route.

import { mark, pictureStage } from "./picture-stage.js";
import { SENTENCES } from "./words.js";

const FEWEST = 3;
const SIZE_POINTS = { pulley: 0, distance: 2, rectangle: 4 };

const form = document.querySelector("#ask");
const stage = document.querySelector("#tap-stage");
const layer = document.querySelector("#tap-points");
const field = form.elements.taps;
const rows = [...form.querySelectorAll("[data-pulley]")];

let taps = { rims: [], size: [] };
let order = []; // The points as they were set, for undo.
let live = null;
let sizing = false; // Taps go to the known size.

// ---- the points ----

function read() {
  try {
    const value = JSON.parse(field.value);
    taps = { rims: value.rims, size: value.size };
  } catch {
    taps = { rims: [], size: [] };
  }
  order = all();
}

const sizeKind = () => form.elements.size.value || "pulley";
const wanted = () => SIZE_POINTS[sizeKind()];
const rimPoints = () => Number(form.elements.points.value) || FEWEST;
const openRim = () => taps.rims.find((rim) => rim.length < rimPoints());

function all() {
  return [...taps.rims.flat(), ...taps.size];
}

function keep() {
  field.value = taps.rims.length || taps.size.length ? JSON.stringify(taps) : "";
  show();
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

function add(point) {
  const open = openRim();
  if (sizing && taps.size.length < wanted()) {
    taps.size.push(point);
    sizing = taps.size.length < wanted();
  } else if (open) open.push(point);
  else if (taps.rims.length < rows.length) taps.rims.push([point]);
  else return false;
  order.push(point);
  return true;
}

function drop(point) {
  if (taps.size.includes(point)) sizing = true;
  taps.size = taps.size.filter((one) => one !== point);
  taps.rims = taps.rims.map((rim) => rim.filter((one) => one !== point)).filter((rim) => rim.length);
  order = order.filter((one) => one !== point);
}

function takeOut(index) {
  taps.rims.splice(index, 1);
  order = order.filter((point) => all().includes(point));
  // What was said of the pulleys after it moves up with them; the first stays the crankshaft.
  for (let k = index; k + 1 < rows.length; k++) {
    for (const name of ["kind_", "face_", "dia_"]) {
      const here = form.elements[name + k];
      const next = form.elements[name + (k + 1)];
      if (k || name !== "kind_") here.value = next.value;
    }
  }
  keep();
}

// ---- showing ----

function prompt() {
  if (sizing) return SENTENCES[sizeKind() === "distance" ? "tapDistance" : "tapRectangle"].replace("{count}", wanted() - taps.size.length);
  const open = openRim();
  if (!open && taps.rims.length === rows.length) return SENTENCES.tapFull;
  const number = open ? taps.rims.indexOf(open) + 1 : taps.rims.length + 1;
  const key = open ? "tapRim" : number > 1 ? "tapNext" : "tapCrank";
  return SENTENCES[key].replace("{number}", number).replace("{count}", rimPoints() - (open?.length ?? 0));
}

function show() {
  const unit = live?.unit() ?? Number(stage.dataset.width) / stage.clientWidth;
  layer.replaceChildren(
    ...taps.rims.flatMap((rim, k) => rim.map((point, i) => mark(point, i ? "" : String(k + 1), "tap-point", unit))),
    ...taps.size.map((point) => mark(point, "", "tap-size", unit)));
  rows.forEach((row, k) => { row.hidden = k >= taps.rims.length; });
  form.querySelector("[data-no-pulleys]").hidden = taps.rims.length > 0;
  form.querySelectorAll("[data-for-size]").forEach((part) => { part.hidden = !part.dataset.forSize.split(" ").includes(sizeKind()); });
  document.querySelector("#tap-prompt").textContent = prompt();
  document.querySelector("#tap-undo").disabled = !order.length;
}

live = pictureStage(stage, { points: all, add, drop, show, keep });

document.querySelector("#tap-undo").addEventListener("click", () => {
  drop(order.at(-1));
  keep();
});

form.addEventListener("click", (event) => {
  const button = event.target.closest("[data-take-out]");
  if (button) takeOut(Number(button.dataset.takeOut));
});

form.addEventListener("change", (event) => {
  if (event.target.name === "points") show();
  if (event.target.name !== "size") return;
  taps.size = [];
  order = order.filter((point) => all().includes(point));
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
