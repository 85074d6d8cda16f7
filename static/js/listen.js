// Listens for plucks of the span and puts what the core hears in them into the readings. The core's long sum "listen"
// judges every sound; this page only notices when one got louder. All texts come with the page or from the core.

import { NotKept } from "./attach.js";
import { GivenUp, giveUp, prepare, run } from "./long-sum.js";
import { play, stopPlaying } from "./play.js";
import { signal } from "./signal.js";
import { Takes } from "./takes.js";

const RAW = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
const BLOCKS_A_SECOND = 50;
// A take: from so long before the sound got louder, till so long after [blocks].
const BEFORE = 0.6 * BLOCKS_A_SECOND;
const AFTER = 1.2 * BLOCKS_A_SECOND;
// Switching the microphone on makes a sound of its own.
const SETTLE = 0.3 * BLOCKS_A_SECOND;
const KEPT = BEFORE + AFTER;
// A block this many times as strong as the usual one of the last second may be a pluck. Our judgement: what is no pluck
// is found out by the core.
const RISE = 3;
const FAINT = 1e-7;
// A microphone's own noise is stronger than this, covered or not [peak].
const DEAD = 3e-5;
// Below this for two seconds, a finger or a case may lie over the microphone: -60 dB of full scale [peak]. Our judgement.
const WEAK = 1e-3;
const FULL = 0.9995;
const WANTED = 3;
const HINT_S = 10;
const REST_S = 60;
const LOST_S = 3;
// The core needs no more, and takes no less [samples a second].
const RATE = 8000;
// Half the filter before samples are left out, in samples that stay: a windowed sinc with its corner at 3 kHz.
const REACH = 8;
const CORNER = 0.375;

const root = document.querySelector("[data-listen]");
const form = document.getElementById("read");
const readings = document.getElementById("readings");
const inputs = () => [...readings.querySelectorAll("input")];
const filled = () => inputs().filter((input) => input.value.trim());
const part = (name) => root.querySelector(`[data-listen-${name}]`);
const spare = [...part("rows").content.children];
const said = new Map([...part("says").content.children].map((one) => [one.dataset.say, one.textContent]));

// Where sounds can be kept: the tick, what it remembers of the last time, and the sounds.
const keep = part("keep");
const KEEP = "keep-sounds";
const takes = keep && new Takes(form.getAttribute("action"), filled().map((input) => input.value));

let ear = null;
let last = null;

function say(key, text = said.get(key)) {
  part("state").textContent = text;
  root.dataset.state = key;
}

// ---- sound ----

/** Fewer samples a second, with what would then sound wrong filtered away, as 16-bit integers. */
export function lowered(samples, rate) {
  const step = Math.floor(rate / RATE);
  const reach = step > 1 ? REACH * step : 0;
  const kernel = Array.from({ length: 2 * reach + 1 }, (_, i) => {
    const away = (i - reach) / step;
    const sinc = away ? Math.sin(2 * Math.PI * CORNER * away) / (2 * Math.PI * CORNER * away) : 1;
    return sinc * Math.cos((Math.PI / 2) * away / (REACH + 1)) ** 2;
  });
  const whole = kernel.reduce((sum, weight) => sum + weight, 0);
  const out = [];
  for (let at = 0; at < samples.length; at += step) {
    let sum = 0;
    for (let i = -reach; i <= reach; i++) sum += kernel[i + reach] * (samples[at + i] ?? 0);
    out.push(Math.max(-32768, Math.min(32767, Math.round(32768 * sum / whole))));
  }
  return { samples: out, rate: rate / step };
}

function joined(blocks) {
  const out = new Float32Array(blocks.reduce((sum, block) => sum + block.length, 0));
  let at = 0;
  for (const block of blocks) {
    out.set(block, at);
    at += block.length;
  }
  return out;
}

function median(values) {
  return [...values].sort((a, b) => a - b)[values.length >> 1];
}

function share(samples, test) {
  return samples.reduce((count, sample) => count + (test(Math.abs(sample)) ? 1 : 0), 0) / samples.length;
}

// ---- the microphone ----

const FAILURES = {
  NotAllowedError: "denied", SecurityError: "denied", NotFoundError: "none", OverconstrainedError: "none",
  NotReadableError: "busy", AbortError: "busy", NotSupportedError: "old",
};

async function start() {
  stopPlaying();
  say("starting");
  const own = ear = { blocks: [], powers: [], peaks: [], left: 0, judging: false, count: 0, clippedUntil: 0 };
  show(true);
  try {
    // Before anything is waited for: some browsers let sound begin only at the tap itself.
    own.context = new AudioContext();
    own.context.resume();
    prepare();
    own.stream = await navigator.mediaDevices.getUserMedia({ audio: RAW, video: false });
    if (ear !== own) return release(own);
    if (own.context.sampleRate < RATE) return stop("rate");
    await own.context.audioWorklet.addModule("/static/js/listen-tap.js");
    if (ear !== own) return release(own);
    connect(own);
  } catch (error) {
    if (ear === own) stop(FAILURES[error.name] ?? "not-started");
    release(own);
  }
}

function connect(own) {
  const [track] = own.stream.getAudioTracks();
  const during = (act) => (event) => { if (ear === own) act(event); };
  const listens = () => {
    own.lastBlock = performance.now();
    say("listening");
  };
  const tap = new AudioWorkletNode(own.context, "listen-tap");
  tap.port.onmessage = during(({ data }) => take(data));
  // Silence goes out; a browser runs only what leads somewhere.
  own.context.createMediaStreamSource(own.stream).connect(tap).connect(own.context.destination);
  track.addEventListener("ended", during(() => stop("ended")));
  track.addEventListener("mute", during(() => say("muted")));
  track.addEventListener("unmute", during(listens));
  own.clock = setInterval(during(() => look(own)), 500);
  own.since = performance.now();
  tellSettings(track);
  listens();
  if (track.muted) say("muted");
}

// What the browser really does; what it does not say is not known.
function tellSettings(track) {
  const granted = track.getSettings();
  const kept = Object.keys(RAW).filter((name) => granted[name] !== undefined && granted[name] !== false);
  const unsaid = Object.keys(RAW).some((name) => granted[name] === undefined);
  const what = kept.map((name) => said.get(name)).join(", ");
  part("doubt").textContent = kept.length ? said.get("processed").replace("{what}", what) : said.get("unsaid");
  part("doubt").hidden = !kept.length && !unsaid;
}

function release({ stream, context, clock }) {
  clearInterval(clock);
  for (const track of stream?.getTracks() ?? []) track.stop();
  // Closed already where listening ended before the microphone came.
  context?.close().catch(() => {});
}

function stop(key) {
  if (ear) release(ear);
  ear = null;
  giveUp();
  show(false);
  say(key);
}

function show(on) {
  part("now").hidden = !on;
  root.toggleAttribute("data-listening", on);
  part("label").textContent = said.get(on ? "stop" : "again");
}

// ---- while it listens ----

function take(block) {
  const own = ear;
  own.lastBlock = performance.now();
  own.count += 1;
  if (own.count < SETTLE) return;
  const peak = block.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
  const power = block.reduce((sum, sample) => sum + sample * sample, 0) / block.length;
  own.blocks.push(block);
  if (own.blocks.length > KEPT) own.blocks.shift();
  if (peak >= FULL) own.clippedUntil = own.lastBlock + 1000;
  level(peak, own.lastBlock < own.clippedUntil);
  if (own.left > 0) {
    own.left -= 1;
    if (own.left === 0) judge(own, joined(own.blocks));
  } else if (!own.judging && own.powers.length >= BEFORE && power > FAINT && power > RISE * median(own.powers)) {
    own.left = AFTER;
    say("working");
  }
  own.powers.push(power);
  own.peaks.push(peak);
  if (own.powers.length > BLOCKS_A_SECOND) own.powers.shift();
  if (own.peaks.length > 2 * BLOCKS_A_SECOND) own.peaks.shift();
}

// From -60 dB of full scale, as a share.
function level(peak, clipped) {
  part("level").value = Math.max(0, 1 + 20 * Math.log10(peak + 1e-6) / 60);
  part("loud").hidden = !clipped;
}

function look(own) {
  const now = performance.now();
  const { state } = root.dataset;
  if (now - own.since > REST_S * 1000) return stop("rest");
  if (own.judging || own.left || state === "muted") return;
  if (now - own.lastBlock > LOST_S * 1000) return stop("ended");
  const loudest = own.peaks.length === 2 * BLOCKS_A_SECOND ? Math.max(...own.peaks) : 1;
  if (loudest < DEAD && state !== "silent") say("silent");
  else if (loudest >= DEAD && state === "silent") say("listening");
  else if (now - own.since > HINT_S * 1000 && ["listening", "nothing", "weak"].includes(state)) hint(loudest < WEAK ? "weak" : "nothing");
}

// Said again, a screen reader would speak it again.
function hint(key) {
  if (root.dataset.state !== key) say(key);
}

async function judge(own, samples) {
  own.judging = true;
  last = { samples, rate: own.context.sampleRate };
  const argument = { ...lowered(samples, last.rate), band: JSON.parse(root.dataset.band), clipped: share(samples, (size) => size >= FULL) };
  const stopClock = sumClock();
  try {
    const answer = await run("listen", argument);
    if (ear === own) tell(answer, argument);
  } catch (error) {
    if (error instanceof GivenUp || ear !== own) return;
    stop("not-started");
    if (error.message) say("not-started", error.message);
  } finally {
    stopClock();
  }
  own.judging = false;
  own.since = performance.now();
}

// Shows that a sum runs: a bar that moves, and the seconds; the sum is one piece and tells no share. Returns what ends it.
function sumClock() {
  const since = performance.now();
  const tick = () => { part("seconds").textContent = `${Math.round((performance.now() - since) / 1000)} s`; };
  part("sum").hidden = false;
  tick();
  const clock = setInterval(tick, 500);
  return () => {
    clearInterval(clock);
    part("sum").hidden = true;
  };
}

// ---- what was heard ----

function tell(answer, sound) {
  part("answer").hidden = false;
  part("key").hidden = !answer.hz;
  part("hz").textContent = answer.hz;
  part("between").textContent = answer.between;
  part("note").textContent = answer.note;
  part("note").hidden = !answer.note;
  draw(answer.picture);
  if (!answer.hz) return say("declined", answer.sentence);
  takes?.add(answer.hz, sound);
  place(answer.hz);
  offerKeeping();
  signal();
  const count = Math.min(WANTED, filled().length);
  if (count < WANTED) return say(`count-${count}`);
  stop(`count-${count}`);
  offerSaving();
}

function place(hz) {
  const empty = inputs().find((input) => !input.value.trim());
  if (!empty) return;
  empty.value = hz;
  if (empty === inputs().at(-1) && spare.length) readings.append(spare.shift());
  // A page that is killed or loaded again has the reading in its address.
  const typed = new URLSearchParams(new FormData(form));
  typed.set("step", "read");
  history.replaceState(null, "", `${form.getAttribute("action")}?${typed}`);
  empty.dispatchEvent(new Event("input", { bubbles: true }));
}

function offerSaving() {
  const save = document.querySelector("[data-listen-save]");
  if (!save) return;
  save.hidden = false;
  document.querySelector(".actions .button-main")?.classList.remove("button-main");
  save.classList.add("button-main");
}

// ---- the sounds kept with the reading ----

function offerKeeping() {
  if (keep) part("keeping").hidden = !takes.of(filled().map((input) => input.value)).length;
}

// The form is sent once the sounds are kept, with their names in it; a sound that cannot be kept must not go unsaid.
async function keepFirst(event) {
  if (event.submitter?.formMethod !== "post" || !keep.checked || form.dataset.sounds === "kept") return;
  event.preventDefault();
  part("trouble").hidden = true;
  try {
    form.querySelectorAll("[name=sound]").forEach((field) => field.remove());
    for (const value of await takes.keep(filled().map((input) => input.value))) {
      form.append(Object.assign(document.createElement("input"), { type: "hidden", name: "sound", value }));
    }
  } catch (error) {
    if (!(error instanceof NotKept)) throw error;
    part("trouble").textContent = said.get("not-kept-" + error.code);
    part("trouble").hidden = false;
    part("trouble").scrollIntoView({ block: "center" });
    return;
  }
  form.dataset.sounds = "kept";
  form.requestSubmit(event.submitter);
}

function remember() {
  try {
    localStorage.setItem(KEEP, keep.checked ? "yes" : "no");
  } catch {
    // Without storage it is ticked anew each time.
  }
}

function remembered() {
  try {
    return localStorage.getItem(KEEP) === "yes";
  } catch {
    return false;
  }
}

if (keep) {
  keep.checked = remembered();
  keep.addEventListener("change", remember);
  form.addEventListener("submit", keepFirst);
  offerKeeping();
}

function draw(picture) {
  part("picture").hidden = !picture;
  if (!picture) return;
  part("drawing").setAttribute("aria-label", picture.text);
  part("line").setAttribute("d", picture.line);
  part("used").setAttribute("d", picture.used);
  part("words").textContent = picture.text;
  part("labels").replaceChildren(...picture.labels.map(({ x, y, text }) => {
    const label = document.createElementNS("http://www.w3.org/2000/svg", "text");
    label.setAttribute("x", x);
    label.setAttribute("y", y);
    label.textContent = text;
    return label;
  }));
}

// ---- playing it back ----

function playBack() {
  if (ear) stop("stopped");
  play((context) => {
    const buffer = context.createBuffer(1, last.samples.length, last.rate);
    buffer.copyToChannel(last.samples, 0);
    return buffer;
  });
}

// ---- the page ----

part("start").addEventListener("click", () => (ear ? stop("stopped") : start()));
part("play").addEventListener("click", playBack);
document.addEventListener("visibilitychange", () => { if (document.hidden && ear) stop("hidden"); });
addEventListener("pagehide", () => { if (ear) stop("hidden"); });

root.hidden = false;
if (!isSecureContext) say("insecure");
else if (!navigator.mediaDevices?.getUserMedia || !globalThis.AudioWorkletNode) say("old");
else say("ready");
part("start").hidden = root.dataset.state !== "ready";
