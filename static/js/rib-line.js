// A line dragged across a belt on its photo: the page takes the picture's grey along it, the core's long sum "count_ribs" counts.

import { GivenUp, run } from "./long-sum.js";
import { mark, pictureStage, SVG } from "./picture-stage.js";

// Points along the line and lines beside it within this share of its length, as tests/ribbelts.py takes them.
const SAMPLES = 192;
const LINES = 9;
const BESIDE = 0.06;
const SHORTEST = 24; // [px]

const root = document.querySelector("#rib-count");
const stage = root.querySelector("#tap-stage");
const image = stage.querySelector("img");
const layer = root.querySelector("#tap-points");
const said = new Map([...root.querySelector("[data-says]").content.children].map((one) => [one.dataset.say, one.textContent]));
const use = document.querySelector("#rib-use");

let ends = [];
let ribs = "";
let pixels = null;
let live = null;

live = pictureStage(stage, {
  points: () => ends,
  add: (point) => ends.length < 2 && Boolean(ends.push(point)),
  drop: (point) => { ends = ends.filter((one) => one !== point); },
  show,
  keep: count,
});

function say(text, state) {
  const line = root.querySelector("#rib-said");
  line.textContent = text;
  line.dataset.state = state;
}

function stroke(from, to, kind) {
  const line = document.createElementNS(SVG, "path");
  line.setAttribute("class", kind);
  line.setAttribute("d", `M${from.slice(0, 2).join(" ")}L${to.slice(0, 2).join(" ")}`);
  return line;
}

// The line, and a short stroke across it where one rib ends and the next begins.
function show() {
  const unit = live?.unit() ?? Number(stage.dataset.width) / stage.clientWidth;
  const drawn = [];
  if (ends.length === 2) {
    const [a, b] = ends;
    const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
    const half = 14 * unit / Math.max(1, Math.hypot(dx, dy));
    drawn.push(stroke(a, b, "rib-edge"), stroke(a, b, "rib-line"));
    for (let k = 0; ribs && k <= Number(ribs); k++) {
      const [x, y] = [a[0] + dx * k / Number(ribs), a[1] + dy * k / Number(ribs)];
      drawn.push(stroke([x - dy * half, y + dx * half], [x + dy * half, y - dx * half], "rib-tick"));
    }
  }
  layer.replaceChildren(...drawn, ...ends.map((point) => mark(point, "", "tap-point", unit)));
  root.querySelector("#tap-undo").disabled = !ends.length;
}

function readPixels() {
  const canvas = Object.assign(document.createElement("canvas"), { width: image.naturalWidth, height: image.naturalHeight });
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  pen.drawImage(image, 0, 0);
  return pen.getImageData(0, 0, canvas.width, canvas.height);
}

// Grey between pixels, by proportion.
function greyAt({ data, width, height }, x, y) {
  const px = Math.min(width - 1.001, Math.max(0, x));
  const py = Math.min(height - 1.001, Math.max(0, y));
  const i = Math.floor(px);
  const j = Math.floor(py);
  const one = (column, row) => {
    const at = 4 * (row * width + column);
    return 0.299 * data[at] + 0.587 * data[at + 1] + 0.114 * data[at + 2]; // ITU-R BT.601
  };
  const across = (row) => one(i, row) * (1 - px + i) + one(i + 1, row) * (px - i);
  return across(j) * (1 - py + j) + across(j + 1) * (py - j);
}

function linesAcross() {
  const [[ax, ay], [bx, by]] = ends;
  const [dx, dy] = [bx - ax, by - ay];
  return Array.from({ length: LINES }, (_, line) => {
    const aside = BESIDE * (2 * line / (LINES - 1) - 1);
    return Array.from({ length: SAMPLES }, (__, k) => {
      const share = (k + 0.5) / SAMPLES;
      return Math.round(greyAt(pixels, ax + dx * share - dy * aside, ay + dy * share + dx * aside));
    });
  });
}

async function count() {
  ribs = "";
  use.hidden = true;
  show();
  if (ends.length < 2) return say(said.get(ends.length ? "second" : "ready"), "");
  const lengthPx = Math.hypot(ends[0][0] - ends[1][0], ends[0][1] - ends[1][1]);
  if (lengthPx < SHORTEST) return say(said.get("short"), "declined");
  say(said.get("working"), "");
  try {
    pixels ??= readPixels();
    const told = await run("count_ribs", { lines: linesAcross(), length_px: lengthPx, section: root.dataset.section, width_mm: root.dataset.widthMm });
    ribs = told.ribs;
    say(told.sentence, ribs ? "counted" : "declined");
    if (ribs) {
      use.querySelector("[data-count]").textContent = ribs;
      use.href = `${root.dataset.here}?step=ribs&counted=${ribs}`;
      use.hidden = false;
    }
    show();
  } catch (error) {
    if (!(error instanceof GivenUp)) say(error.message || said.get("failed"), "declined");
  }
}

root.querySelector("#tap-undo").addEventListener("click", () => {
  ends.pop();
  count();
});

image.addEventListener("error", () => say(said.get("unread"), "declined"));
show();
