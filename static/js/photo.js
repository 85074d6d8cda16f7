// Takes a photo for the job: reads it, redraws it small (which leaves its location behind), keeps it under
// the hash of its bytes, and only then posts the slot's form. Nothing is posted for a picture that is not kept.

import { NotKept, attach } from "./attach.js";
import { signal } from "./signal.js";
import { SENTENCES } from "./words.js";

const MOST_BYTES = 25_000_000;
const MOST_PIXELS = 60_000_000;
const LONGEST_SIDE = 1600;
const KEPT_BYTES = 450_000;
const QUALITIES = [0.85, 0.75, 0.65, 0.55, 0.45];

// Judged on a small grey copy. The limits are our own, chosen on drawn pictures blurred and darkened by known
// amounts (tests/browser/test_photo.py). The measure of blur is the variance of the Laplacian of the smoothed copy,
// since grain would pass for detail, as a share of the mean lightness squared, since a dim picture is not a blurred
// one. A doubt is said, and never refuses.
const LOOK_SIDE = 640;
const DARK_MEAN = 40;
const BLACK_LEVEL = 8;
const BLACK_SHARE = 0.6;
const WHITE_LEVEL = 250;
const WHITE_SHARE = 0.35;
const LEAST_SHARPNESS = 0.0005;

class Refusal extends Error {}

const startOf = async (file, length) => new DataView(await file.slice(0, length).arrayBuffer());

const letters = (view, from, count) =>
  String.fromCharCode(...Array.from({ length: Math.max(0, Math.min(count, view.byteLength - from)) }, (_, i) => view.getUint8(from + i)));

// What a picture says of its size: one over the limit must be refused before it is decoded, or it takes the page
// down with it. PNG: its IHDR chunk (ISO/IEC 15948, 11.2.2); GIF89a: the logical screen; JPEG: below.
// Null for other formats, which are measured after decoding.
async function claimedPixels(file) {
  const view = await startOf(file, 1_000_000);
  if (view.byteLength < 24) return null;
  if (view.getUint16(0) === 0xffd8) return jpegPixels(view);
  if (letters(view, 1, 3) === "PNG") return view.getUint32(16) * view.getUint32(20);
  return letters(view, 0, 3) === "GIF" ? view.getUint16(6, true) * view.getUint16(8, true) : null;
}

// The size in a JPEG's frame header (ITU-T T.81, B.2.2).
function jpegPixels(view) {
  let at = 2;
  while (at + 9 < view.byteLength && view.getUint8(at) === 0xff) {
    const marker = view.getUint8(at + 1);
    const isFrame = marker >= 0xc0 && marker <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(marker);
    if (isFrame) return view.getUint16(at + 5) * view.getUint16(at + 7);
    at += 2 + view.getUint16(at + 2);
  }
  return null;
}

// Brands of HEIF pictures coded with HEVC (ISO/IEC 23008-12, B.4): what some phones write, and only some browsers read.
const HEIC_BRANDS = ["heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "msf1"];

async function whyUnread(file) {
  const view = await startOf(file, 600);
  if (letters(view, 4, 4) === "ftyp" && HEIC_BRANDS.includes(letters(view, 8, 4))) return SENTENCES.heic;
  if (letters(view, 0, 600).includes("<svg")) return SENTENCES.drawing;
  return view.byteLength > 3 && view.getUint16(0) === 0xffd8 ? SENTENCES.damaged : SENTENCES.notPicture;
}

async function decode(file) {
  if (!file.size) throw new Refusal(SENTENCES.emptyFile);
  if (file.size > MOST_BYTES) throw new Refusal(SENTENCES.tooHeavy);
  let picture;
  try {
    if (await claimedPixels(file) > MOST_PIXELS) throw new Refusal(SENTENCES.tooManyPixels);
    picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  } catch (error) {
    throw error instanceof Refusal ? error : new Refusal(await whyUnread(file));
  }
  if (picture.width * picture.height > MOST_PIXELS) throw new Refusal(SENTENCES.tooManyPixels);
  return picture;
}

function draw(picture, longest) {
  const scale = Math.min(1, longest / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(picture.width * scale));
  canvas.height = Math.max(1, Math.round(picture.height * scale));
  const pen = canvas.getContext("2d");
  pen.imageSmoothingQuality = "high";
  // JPEG has no transparency; without this a see-through picture turns black.
  pen.fillStyle = "#fff";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
  return canvas;
}

// Some browsers write segments of notes into the pictures that they make (T.81, B.2.4); the workshop takes plain ones only.
// APP0 says what the file is, APP2 holds the colours' profile, APP14 their transform: those stay.
async function withoutNotes(jpeg) {
  const bytes = new Uint8Array(await jpeg.arrayBuffer());
  const kept = [bytes.subarray(0, 2)];
  let at = 2;
  while (bytes[at] === 0xff && bytes[at + 1] !== 0xda && at + 4 < bytes.length) {
    const marker = bytes[at + 1];
    const end = at + 2 + (bytes[at + 2] << 8 | bytes[at + 3]);
    const isNote = marker === 0xfe || (marker > 0xe0 && marker <= 0xef && ![0xe2, 0xee].includes(marker));
    if (!isNote) kept.push(bytes.subarray(at, end));
    at = end;
  }
  kept.push(bytes.subarray(at));
  return new Blob(kept, { type: "image/jpeg" });
}

const toJpeg = async (canvas, quality) =>
  withoutNotes(await new Promise((done) => canvas.toBlob(done, "image/jpeg", quality)));

async function shrink(picture) {
  for (let longest = LONGEST_SIDE; ; longest = Math.round(longest * 0.8)) {
    const canvas = draw(picture, longest);
    for (const quality of QUALITIES) {
      const jpeg = await toJpeg(canvas, quality);
      if (jpeg.size <= KEPT_BYTES) return { canvas, jpeg };
    }
  }
}

function lightness(canvas) {
  const { width, height } = canvas;
  const { data } = canvas.getContext("2d").getImageData(0, 0, width, height);
  const light = new Float32Array(width * height);
  for (let i = 0; i < light.length; i++) {
    light[i] = 0.299 * data[4 * i] + 0.587 * data[4 * i + 1] + 0.114 * data[4 * i + 2]; // ITU-R BT.601
  }
  return { light, width, height };
}

// The binomial weights 1 2 1, along the rows and down the columns; the picture's edge stays as it is.
function smoothed(light, width, height) {
  const weighed = (from, step) => from.map((value, i) => {
    const place = step === 1 ? i % width : Math.floor(i / width);
    const last = (step === 1 ? width : height) - 1;
    return place === 0 || place === last ? value : (from[i - step] + 2 * value + from[i + step]) / 4;
  });
  return weighed(weighed(light, 1), width);
}

export function measure(picture) {
  const { light: grey, width, height } = lightness(draw(picture, LOOK_SIDE));
  const light = smoothed(grey, width, height);
  let sum = 0;
  let squares = 0;
  for (let y = 1; y < height - 1; y++) {
    for (let x = 1; x < width - 1; x++) {
      const i = y * width + x;
      const edge = light[i - 1] + light[i + 1] + light[i - width] + light[i + width] - 4 * light[i];
      sum += edge;
      squares += edge * edge;
    }
  }
  const count = Math.max(1, (width - 2) * (height - 2));
  const mean = grey.reduce((a, b) => a + b, 0) / grey.length;
  const share = (isClipped) => grey.reduce((n, value) => n + isClipped(value), 0) / grey.length;
  return {
    mean, black: share((value) => value <= BLACK_LEVEL), white: share((value) => value >= WHITE_LEVEL),
    sharpness: (squares / count - (sum / count) ** 2) / Math.max(1, mean) ** 2,
  };
}

function doubt(picture) {
  const { mean, black, white, sharpness } = measure(picture);
  if (mean < DARK_MEAN || black > BLACK_SHARE) return SENTENCES.dark;
  if (white > WHITE_SHARE) return SENTENCES.glare;
  return sharpness < LEAST_SHARPNESS ? SENTENCES.blurred : "";
}

const isMoving = async (file) => letters(await startOf(file, 3), 0, 3) === "GIF";

// ---- the slot on the page ----

function say(slot, text, state) {
  slot.querySelector("[data-photo-state]").textContent = text;
  slot.dataset.state = state;
}

function offer(slot, choices) {
  slot.querySelector(".button-row")?.remove();
  if (!choices.length) return;
  const row = Object.assign(document.createElement("div"), { className: "button-row" });
  row.append(...choices.map(([text, act]) => {
    const button = Object.assign(document.createElement("button"), { type: "button", className: "button", textContent: text });
    button.addEventListener("click", act);
    return button;
  }));
  slot.append(row);
  // The picture above it is large, and the tile that was tapped may stand further up.
  row.scrollIntoView({ block: "nearest" });
}

function show(slot, canvas) {
  slot.querySelector(".slot-picture")?.remove();
  if (!canvas) return;
  canvas.className = "slot-picture";
  canvas.setAttribute("role", "img");
  canvas.setAttribute("aria-label", SENTENCES.preview);
  slot.querySelector("[data-photo-state]").before(canvas);
}

function fill(slot, values) {
  for (const [name, value] of Object.entries(values)) slot.elements[name].value = value;
}

// The input may stand elsewhere on the page and belong to the slot by its `form`.
function takeAgain(slot) {
  const input = [...slot.elements].find((field) => field.type === "file");
  input.value = "";
  input.click();
}

async function store(slot, canvas, jpeg) {
  offer(slot, []);
  say(slot, SENTENCES.keeping, "working");
  try {
    const hash = await attach("photos", jpeg);
    fill(slot, { sha256: hash, width: canvas.width, height: canvas.height, size: jpeg.size });
  } catch (error) {
    if (!(error instanceof NotKept)) throw error;
    say(slot, SENTENCES[error.code], "failed");
    offer(slot, [[SENTENCES.retry, () => store(slot, canvas, jpeg)], [SENTENCES.again, () => takeAgain(slot)]]);
    return;
  }
  say(slot, SENTENCES.posting, "kept");
  signal();
  slot.requestSubmit();
}

async function take(slot, file) {
  offer(slot, []);
  show(slot, null);
  say(slot, SENTENCES.reading, "working");
  let canvas, jpeg, remark;
  try {
    const picture = await decode(file);
    ({ canvas, jpeg } = await shrink(picture));
    remark = doubt(picture) || (await isMoving(file) ? SENTENCES.firstOnly : "");
    picture.close();
  } catch (error) {
    say(slot, error instanceof Refusal ? error.message : SENTENCES.unprepared, "failed");
    offer(slot, [[SENTENCES.again, () => takeAgain(slot)]]);
    if (!(error instanceof Refusal)) throw error;
    return;
  }
  show(slot, canvas);
  if (!remark) return store(slot, canvas, jpeg);
  say(slot, remark, "doubt");
  offer(slot, [[SENTENCES.again, () => takeAgain(slot)], [SENTENCES.anyway, () => store(slot, canvas, jpeg)]]);
}

// The key that ends the remark must not send the slot before there is a picture, nor let the page take it for sent.
document.addEventListener("submit", (event) => {
  if (!event.target.matches("[data-photo-slot]") || event.target.elements.sha256.value) return;
  event.preventDefault();
  event.stopPropagation();
}, true);

document.addEventListener("change", (event) => {
  const slot = event.target.type === "file" ? event.target.form : null;
  if (!slot?.matches("[data-photo-slot]") || !event.target.files.length) return;
  // One picture at a time: the one before may be on its way to the card.
  if (!["working", "kept"].includes(slot.dataset.state)) take(slot, event.target.files[0]);
});
