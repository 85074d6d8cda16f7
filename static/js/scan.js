// Finds a code with the camera or in a photo: opens the job of a tag, or fills a field with what a part's code holds.

import { signal } from "./signal.js";
import { withZeros } from "./upc-e.js";
import { SENTENCES } from "./words.js";

const READER = "/static/vendor/zxing/reader/";
const FRAME_SIDE = 960;
const PHOTO_SIDE = 2000;
const PAUSE_MS = 100;
// No constant camera: it heats the phone and empties the battery.
const REST_SECONDS = 90;

const root = document.querySelector("[data-scan]");
// The field that a part's code fills; without one, only tags are looked for.
const field = root.dataset.fill ? document.querySelector(`[name="${root.dataset.fill}"]`) : null;
// What tags and parts carry, as the phone's own reader names it and as ours does.
const KINDS = field
  ? [["qr_code", "QRCode"], ["data_matrix", "DataMatrix"], ["code_128", "Code128"], ["code_39", "Code39"], ["ean_13", "EAN13"],
     ["ean_8", "EAN8"], ["upc_a", "UPCA"], ["upc_e", "UPCE"]]
  : [["qr_code", "QRCode"]];
const part = (name) => root.querySelector(`[data-${name}]`);
const video = part("video");
const finder = part("finder");

let stream = null;
// Counts how often the camera was given up: what was being opened before that comes too late.
let turn = 0;

function say(text, state) {
  part("scan-state").textContent = text;
  finder.dataset.state = state;
}

// ---- reading a code ----

async function phonesOwnReader() {
  const formats = await globalThis.BarcodeDetector?.getSupportedFormats().catch(() => []) ?? [];
  if (!KINDS.every(([kind]) => formats.includes(kind))) return null;
  const detector = new BarcodeDetector({ formats: KINDS.map(([kind]) => kind) });
  return async (canvas) => (await detector.detect(canvas)).map(({ format, rawValue }) => (format === "upc_e" ? withZeros(rawValue) : rawValue));
}

async function bundledReader() {
  const { prepareZXingModule, readBarcodes } = await import(`${READER}index.js`);
  await prepareZXingModule({ overrides: { locateFile: (name) => READER + name }, fireImmediately: true });
  return async (canvas) => {
    const picture = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
    return (await readBarcodes(picture, { formats: KINDS.map(([, kind]) => kind), maxNumberOfSymbols: 4 })).map((code) => code.text);
  };
}

let reader = null;

async function read(canvas) {
  reader ??= await phonesOwnReader() ?? await bundledReader();
  try {
    return await reader(canvas);
  } catch (error) {
    // Some phones name a reader of their own that then fails; ours takes over.
    reader = await bundledReader();
    return reader(canvas);
  }
}

// ---- judging it ----

function addressIn(text) {
  try {
    return new URL(text);
  } catch {
    return null;
  }
}

// Returns where to go, or what to say about a code that opens nothing here.
function judge(text, origins) {
  const url = addressIn(text);
  if (!url?.protocol.startsWith("http") || !/^\/t\/[0-9A-Za-z-]{8,40}$/.test(url.pathname)) return { say: SENTENCES.notTag };
  if (!origins.includes(url.origin)) return { say: SENTENCES.otherShop.replace("{address}", url.host) };
  return { go: url.pathname };
}

const OWN = [location.origin, root.dataset.origin];

// Fills the field with the first code and asks for the verdict on it. Fields show no control signs.
function fill(text) {
  stop();
  say(SENTENCES.codeRead, "found");
  signal();
  field.value = text.replaceAll("\u001d", " | ");
  field.form.requestSubmit(field.form.querySelector("[formmethod=get]"));
  return true;
}

// Takes what is in view: true when there was something to take.
function open(texts) {
  if (field) return texts.length > 0 && fill(texts[0]);
  const verdicts = texts.map((text) => judge(text, OWN));
  const ours = verdicts.find((verdict) => verdict.go);
  if (ours) {
    stop();
    say(SENTENCES.found, "found");
    signal();
    location.assign(ours.go);
  } else if (verdicts.length) {
    say(verdicts[0].say, "other");
  }
  return Boolean(ours);
}

// ---- the camera ----

const FAILURES = {
  NotAllowedError: SENTENCES.cameraRefused,
  SecurityError: SENTENCES.cameraRefused,
  NotFoundError: SENTENCES.cameraMissing,
  OverconstrainedError: SENTENCES.cameraMissing,
  NotReadableError: SENTENCES.cameraBusy,
  AbortError: SENTENCES.cameraBusy,
};

function fail(text) {
  stop();
  say(text, "failed");
  part("start").hidden = !navigator.mediaDevices;
}

async function start() {
  part("start").hidden = true;
  if (!navigator.mediaDevices?.getUserMedia) return fail(isSecureContext ? SENTENCES.cameraMissing : SENTENCES.cameraInsecure);
  say(SENTENCES.starting, "starting");
  const mine = turn;
  let opened;
  try {
    opened = await navigator.mediaDevices.getUserMedia({
      audio: false, video: { facingMode: { ideal: "environment" }, width: { ideal: 1280 }, height: { ideal: 720 } } });
  } catch (error) {
    return mine === turn && fail(FAILURES[error.name] ?? SENTENCES.cameraFailed);
  }
  if (document.hidden || mine !== turn) return opened.getTracks().forEach((track) => track.stop());
  stream = opened;
  stream.getVideoTracks()[0].addEventListener("ended", () => fail(SENTENCES.cameraBusy));
  video.srcObject = stream;
  await video.play();
  offerLight();
  say(field ? SENTENCES.aimCode : SENTENCES.aim, "aim");
  try {
    await watch(stream);
  } catch (error) {
    fail(SENTENCES.noReader);
    throw error;
  }
}

function stop() {
  turn += 1;
  stream?.getTracks().forEach((track) => track.stop());
  stream = null;
  video.srcObject = null;
  part("light").hidden = true;
}

function rest() {
  if (!stream) return;
  stop();
  say(SENTENCES.rested, "rested");
  part("start").hidden = false;
}

// Only the part of the picture that the screen shows is read (the style is object-fit: cover).
function seen() {
  const scale = Math.min(video.videoWidth / video.clientWidth, video.videoHeight / video.clientHeight);
  const width = video.clientWidth * scale;
  const height = video.clientHeight * scale;
  const canvas = document.createElement("canvas");
  const shrunk = Math.min(1, FRAME_SIDE / Math.max(width, height));
  canvas.width = Math.round(width * shrunk);
  canvas.height = Math.round(height * shrunk);
  canvas.getContext("2d", { willReadFrequently: true }).drawImage(
    video, (video.videoWidth - width) / 2, (video.videoHeight - height) / 2, width, height, 0, 0, canvas.width, canvas.height);
  return canvas;
}

const pause = (ms) => new Promise((done) => setTimeout(done, ms));

async function watch(mine) {
  const end = Date.now() + REST_SECONDS * 1000;
  while (stream === mine) {
    if (video.videoWidth && open(await read(seen()))) return;
    if (Date.now() > end) return rest();
    await pause(PAUSE_MS);
  }
}

function offerLight() {
  const track = stream.getVideoTracks()[0];
  const button = part("light");
  button.hidden = !track.getCapabilities?.().torch;
  button.textContent = SENTENCES.lightOn;
  let on = false;
  button.onclick = async () => {
    try {
      await track.applyConstraints({ advanced: [{ torch: !on }] });
    } catch {
      button.hidden = true;
      return say(SENTENCES.noLight, "aim");
    }
    on = !on;
    button.textContent = on ? SENTENCES.lightOff : SENTENCES.lightOn;
  };
}

// ---- a photo instead ----

async function readPhoto(file) {
  stop();
  say(SENTENCES.looking, "starting");
  part("start").hidden = !navigator.mediaDevices;
  let picture;
  try {
    picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  } catch {
    return say(SENTENCES.notPicture, "failed");
  }
  const scale = Math.min(1, PHOTO_SIDE / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(picture.width * scale);
  canvas.height = Math.round(picture.height * scale);
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  let texts;
  try {
    texts = await read(canvas);
  } catch {
    return say(SENTENCES.noReader, "failed");
  }
  if (!texts.length) return say(field ? SENTENCES.noCodeInPhoto : SENTENCES.noneInPhoto, "failed");
  open(texts);
}

function takePhoto() {
  const file = part("photo").files[0];
  part("photo").value = "";
  if (file) readPhoto(file);
  return Boolean(file);
}

part("photo").addEventListener("change", takePhoto);
part("start").addEventListener("click", start);
document.addEventListener("visibilitychange", () => { if (document.hidden) rest(); });
addEventListener("pagehide", rest);
// A photo may have been chosen while this was still on its way.
const chosen = takePhoto();
if (field && !chosen) {
  part("start").hidden = !navigator.mediaDevices;
  say(SENTENCES.scanReady, "rested");
} else if (!chosen) {
  start();
}
