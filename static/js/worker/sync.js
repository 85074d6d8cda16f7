// Sync: ask, send, read each verdict, mark; then the pictures and sounds; then pull. Repeating any step is harmless,
// since an entry's id is its key, and a mark moves only once what it stands for is kept.

import { digest, exclusively } from "./answer.js";
import { addressOf } from "./files.js";
import * as records from "./records.js";

const BATCH = 50;
const PAGE = 200;
const ASKED = 500;
// How many signed jobs a phone keeps at most.
const KEPT_SIGNED = 200;
// A list that had no room is asked for again only so much later.
const STOCK_AGAIN_MS = 3600000;
const TIMEOUT_MS = 20000;
const FILE_TIMEOUT_MS = 60000;

const channel = new BroadcastChannel("spanwright");
let running = null;
let again = false;

/** Sync now, or once more after the sync that is running. */
export function sync() {
  again = true;
  running ??= untilDone().finally(() => { running = null; });
  return running;
}

async function untilDone() {
  while (again) {
    again = false;
    await navigator.locks.request("spanwright-sync", once);
  }
}

/** Tell the open pages what is not sent and when the server was last reached. */
async function tell(trouble = "") {
  const [outbox, me] = await Promise.all([records.outbox(), records.about()]);
  channel.postMessage({ kind: "status", waiting: outbox.waiting, photos: outbox.photos, sounds: outbox.sounds, refused: outbox.refused.length,
                        refused_photos: outbox.refused_photos.filter(({ sound }) => !sound).length,
                        refused_sounds: outbox.refused_photos.filter(({ sound }) => sound).length, last_sync: me.last_sync, problem: trouble || me.problem,
                        enrolled: me.ready });
}

// What changed last, and when: a page that was made before it and began to listen after it shows what was.
let last = { at: 0, jobs: [] };

function changed(jobs) {
  last = { at: Date.now(), jobs };
  channel.postMessage({ kind: "changed", jobs });
}

/** Tell a page that has just begun to listen: how things stand, and what changed since it was asked for. */
export async function welcome(since) {
  if (last.at >= since) channel.postMessage({ kind: "changed", jobs: last.jobs });
  await tell();
}

// The server's answer that ends a sync: it knows this device no more, or nobody is signed in.
class Turned extends Error {
  constructor(problem) {
    super(problem);
    this.problem = problem;
  }
}

async function once() {
  const before = await records.about();
  let problem = "";
  try {
    for (const step of [refer, send, sendFiles, pull, pullStock]) {
      // What does not fit on the phone must not keep what is on it from being sent.
      if (!await ifRoom(step)) problem = "full";
    }
  } catch (error) {
    problem = error instanceof Turned ? error.problem : "no-contact";
    if (problem === "no-contact") console.info("Sync stopped:", error.message);
  }
  // A device that never was enrolled has no trouble to show.
  if (problem === "" || before.ready) await ifRoom(() => records.set({ problem }));
  await tell(problem);
}

// Returns whether the phone had room for what a step wanted to keep.
async function ifRoom(step) {
  try {
    return await step() ?? true;
  } catch (error) {
    if (!(error instanceof records.StorageFull)) throw error;
    return false;
  }
}

async function ask(path, body, options = {}) {
  const init = body === undefined ? {} : { method: "POST", body: JSON.stringify(body),
                                           headers: { "Content-Type": "application/json" } };
  const answer = await fetch(path, { ...init, cache: "no-store", credentials: "same-origin", redirect: "error",
                                     signal: AbortSignal.timeout(TIMEOUT_MS), ...options });
  if (answer.status === 401) throw new Turned("signed-out");
  if (answer.status === 403 && (await answer.clone().json()).code === "revoked") throw new Turned("revoked");
  if (!answer.ok) throw new Error(`${path} answered ${answer.status}`);
  return answer.json();
}

// Who is who, the workshop's settings, and whether the server takes this device's person for checked.
async function refer() {
  const { causes_seal } = await records.about();
  const { people, shop, device, who, causes, causes_seal: seal, stock_seal: stock_wanted } = await ask(`/sync/reference?causes=${causes_seal}`);
  if (causes) await records.keepCauses(causes, seal);
  const me = await records.about();
  const person = me.adopt ? who : me.who;
  await records.set({ people, shop, device, who: person, adopt: false, verified: person !== "" && person === who, stock_wanted,
                      last_sync: new Date().toISOString().slice(0, 19) + "Z" });
}

async function send() {
  const waiting = await records.waiting();
  for (let i = 0; i < waiting.length; i += BATCH) {
    await sendBatch(waiting.slice(i, i + BATCH));
    await tell();
  }
}

async function sendBatch(batch) {
  const { lacking } = await ask("/sync/ask", { ids: batch.map((event) => event.id) });
  await records.markSent(batch.map((event) => event.id).filter((id) => !lacking.includes(id)));
  const missing = batch.filter((event) => lacking.includes(event.id));
  if (!missing.length) return;
  const { verdicts } = await ask("/sync/send", { events: missing });
  await records.markSent(verdicts.filter(({ verdict }) => verdict !== "refused").map(({ id }) => id));
  const refusals = verdicts.filter(({ verdict }) => verdict === "refused");
  if (!refusals.length) return;
  await records.putAside(refusals);
  await summarize(missing.filter((event) => refusals.some(({ id }) => id === event.id)));
}

// A job looks different without what was refused, or with it again.
async function summarize(events) {
  await exclusively(async () => records.takeIn([], await digestsOf(events), {}));
  changed(jobsOf(events));
}

function jobsOf(events) {
  return [...new Set(events.map((event) => event.job))];
}

async function digestsOf(events) {
  const digests = [];
  for (const job of jobsOf(events)) {
    const fresh = new Map(events.filter((event) => event.job === job && event.seq).map((event) => [event.id, event]));
    const old = (await records.eventsOf(job)).filter((event) => !fresh.has(event.id));
    const all = [...old, ...fresh.values()];
    if (all.some((event) => event.kind === "booked_in")) digests.push(await digest(all));
  }
  return digests;
}

// A file that the server refuses is put aside, and holds up nothing else.
async function sendFiles() {
  const hashes = await records.waitingFiles();
  if (!hashes.length) return;
  const { lacking } = await ask("/sync/photos", { hashes });
  for (const sha256 of hashes) {
    const sentence = lacking.includes(sha256) ? await sendFile(sha256) : "";
    await records.markFile(sha256, sentence ? "refused" : "sent", sentence);
    await tell();
  }
}

// Returns why the server refused the file, "" when it took it.
async function sendFile(sha256) {
  const blob = await records.file(sha256);
  const answer = await fetch(addressOf(sha256, blob), {
    method: "PUT", body: blob, headers: { "Content-Type": blob.type },
    credentials: "same-origin", signal: AbortSignal.timeout(FILE_TIMEOUT_MS) });
  if (answer.status === 422) return (await answer.json()).sentence;
  if (answer.status === 413) return "The file is too large.";
  if (!answer.ok) throw new Error(`the file was answered with ${answer.status}`);
  return "";
}

async function pull() {
  const counts = new Map();
  let more = true;
  let page;
  while (more) {
    const { mark, mark_hash } = await records.about();
    page = await ask(`/sync/pull?after=${mark}&limit=${PAGE}`);
    if (page.before !== mark_hash) {
      // Another entry stands at the mark: the server was put back to a backup. Its log is read from the start.
      await records.set({ mark: 0, mark_hash: "", put_back: true });
      continue;
    }
    Object.entries(page.counts).forEach(([job, count]) => counts.set(job, count));
    await keepPulled(page.events, { mark: page.next, mark_hash: page.head });
    more = page.more;
  }
  await complete(counts);
  await pullDrives(page.drives);
  if ((await records.about()).put_back) await offerAgain();
  await exclusively(() => records.prune(KEPT_SIGNED, page.forget));
  await records.set({ ready: true });
}

// The library is small and changes seldom: the phone says what it holds, the server what has come and gone since.
async function pullDrives(seal) {
  if (seal === (await records.about()).drives_seal) return;
  // What comes for a job of this phone is not taken in, but must not be asked for twice.
  const seen = await records.driveIds();
  let more = true;
  while (more) {
    const answer = await ask("/sync/drives", { ids: seen });
    more = answer.more;
    seen.push(...answer.drives.map(({ id }) => id));
    await records.takeDrives(answer.drives, answer.gone, more ? "" : answer.seal);
  }
  changed([]);
}

// The stock list comes last and as a whole: until all of it is here, the old one is used. Where it has no room, what came of it goes
// at once, so that the next entry has; returns whether there was room.
async function pullStock() {
  const { stock_seal: held, stock_wanted: seal, stock_full, stock_full_at } = await records.about();
  if (seal === held) return true;
  if (seal === stock_full && Date.now() - stock_full_at < STOCK_AGAIN_MS) return false;
  await records.dropStock(held);
  try {
    for (const part of seal ? ["lines", "keys"] : []) if (!await pullPart(seal, part)) return true;
    await records.useStock(seal);
  } catch (error) {
    if (error instanceof records.StorageFull) await records.dropStock(held, seal);
    throw error;
  }
  changed([]);
  return true;
}

// Returns false when another list was put in force meanwhile: the next sync begins afresh.
async function pullPart(seal, part) {
  let after = "";
  let more = true;
  while (more) {
    const page = await ask(`/sync/stock?part=${part}&after=${encodeURIComponent(after)}`);
    if (page.seal !== seal) return false;
    if (page.rows.length) await records.addStock(seal, part, page.rows);
    // What was recorded meanwhile does not wait for the rest of a long list.
    if (again) await send();
    ({ next: after, more } = page);
  }
  return true;
}

// Whatever this phone holds and the server lost is sent again, what others made as well: theirs may be switched off.
async function offerAgain() {
  const ids = await records.sentIds();
  for (let i = 0; i < ids.length; i += ASKED) {
    const { lacking } = await ask("/sync/ask", { ids: ids.slice(i, i + ASKED) });
    await summarize(await records.offerAgain(lacking));
  }
  const files = await records.sentFiles();
  for (let i = 0; i < files.length; i += ASKED) {
    const { lacking } = await ask("/sync/photos", { hashes: files.slice(i, i + ASKED) });
    for (const sha256 of lacking) await records.markFile(sha256, "waiting");
  }
  await records.set({ put_back: false });
  again = true;
}

/** Make every job's summary afresh: another version of the core may tell other things of a job. */
export async function renewSummaries() {
  await exclusively(async () => {
    for (const { id } of await records.board()) {
      await records.takeIn([], [await digest(await records.eventsOf(id))], {});
    }
  });
}

// A job whose count differs from the server's is fetched as a whole.
async function complete(counts) {
  for (const [job, count] of counts) {
    if ((await records.sentIdsOf(job)).length === count) continue;
    await keepPulled((await ask(`/sync/job/${job}`)).events, {});
  }
}

async function keepPulled(events, changes) {
  await exclusively(async () => {
    const { device, n } = await records.about();
    // A phone that lost its records and keeps its device id goes on counting after its last entry.
    const next = events.filter((event) => event.device === device).reduce((most, event) => Math.max(most, event.n + 1), n);
    await records.takeIn(events, await digestsOf(events), { ...changes, n: next });
  });
  if (events.length) changed(jobsOf(events));
}

/** Put a refused entry back among those to send, and sync. */
export async function sendAgain(id) {
  const refused = (await records.refused()).filter((row) => row.id === id);
  await records.takeBack(id);
  await summarize(refused.map((row) => row.event));
  return sync();
}

/** Offer a refused picture or sound once more, and sync. */
export async function sendPhotoAgain(sha256) {
  await records.markFile(sha256, "waiting");
  return sync();
}
