// Sync: ask, send, read each verdict, mark; then the pictures; then pull. Repeating any step is harmless,
// since an entry's id is its key, and a mark moves only once what it stands for is kept.

import { exclusively } from "./answer.js";
import { call } from "./engines.js";
import * as records from "./records.js";

const BATCH = 50;
const PAGE = 200;
const TIMEOUT_MS = 20000;
const PHOTO_TIMEOUT_MS = 60000;

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
export async function tell() {
  const [outbox, me] = await Promise.all([records.outbox(), records.about()]);
  channel.postMessage({ kind: "status", waiting: outbox.waiting, photos: outbox.photos, refused: outbox.refused.length,
                        last_sync: me.last_sync, problem: me.problem, enrolled: me.ready });
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
    await refer();
    await send();
    problem = await sendPhotos();
    await pull();
  } catch (error) {
    problem = error instanceof Turned ? error.problem : "no-contact";
    if (problem === "no-contact") console.info("Sync stopped:", error.message);
  }
  // A device that never was enrolled has no trouble to show.
  if (problem === "" || before.ready) await records.set({ problem });
  await tell();
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
  const { people, shop, device, who } = await ask("/sync/reference");
  const me = await records.about();
  const person = me.adopt ? who : me.who;
  await records.set({ people, shop, device, who: person, adopt: false, verified: person !== "" && person === who,
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
  await exclusively(async () => records.takeIn([], await summariesOf(events), {}));
  channel.postMessage({ kind: "changed", jobs: jobsOf(events) });
}

function jobsOf(events) {
  return [...new Set(events.map((event) => event.job))];
}

async function summariesOf(events) {
  const summaries = [];
  for (const job of jobsOf(events)) {
    const fresh = new Map(events.filter((event) => event.job === job && event.seq).map((event) => [event.id, event]));
    const old = (await records.eventsOf(job)).filter((event) => !fresh.has(event.id));
    const all = [...old, ...fresh.values()];
    if (all.some((event) => event.kind === "booked_in")) summaries.push(await call("summary", all));
  }
  return summaries;
}

// A refused picture is offered again only by a worker started afresh: it is large, and syncs are many.
const refusedPhotos = new Set();

// Returns what to tell. A picture that the server refuses stays, and holds up nothing else.
async function sendPhotos() {
  const hashes = await records.waitingPhotos();
  if (!hashes.length) return "";
  let problem = "";
  const { lacking } = await ask("/sync/photos", { hashes });
  for (const sha256 of hashes) {
    if (lacking.includes(sha256)) {
      if (refusedPhotos.has(sha256)) {
        problem = "photo-refused";
        continue;
      }
      const answer = await fetch("/photos/" + sha256, {
        method: "PUT", body: await records.photo(sha256), headers: { "Content-Type": "image/jpeg" },
        credentials: "same-origin", signal: AbortSignal.timeout(PHOTO_TIMEOUT_MS) });
      if (answer.status === 422) {
        refusedPhotos.add(sha256);
        problem = "photo-refused";
        continue;
      }
      if (!answer.ok) throw new Error(`the picture was answered with ${answer.status}`);
    }
    await records.markPhoto(sha256);
    await tell();
  }
  return problem;
}

async function pull() {
  const counts = new Map();
  let more = true;
  while (more) {
    const { mark } = await records.about();
    const page = await ask(`/sync/pull?after=${mark}&limit=${PAGE}`);
    Object.entries(page.counts).forEach(([job, count]) => counts.set(job, count));
    await keepPulled(page.events, { mark: page.next });
    more = page.more;
  }
  await complete(counts);
  await records.set({ ready: true });
}

// A job whose count differs from the server's is fetched as a whole.
async function complete(counts) {
  for (const [job, count] of counts) {
    if ((await records.sentIds(job)).length === count) continue;
    await keepPulled((await ask(`/sync/job/${job}`)).events, {});
  }
}

async function keepPulled(events, changes) {
  await exclusively(async () => {
    const { device, n } = await records.about();
    // A phone that lost its records and keeps its device id goes on counting after its last entry.
    const next = events.filter((event) => event.device === device).reduce((most, event) => Math.max(most, event.n + 1), n);
    await records.takeIn(events, await summariesOf(events), { ...changes, n: next });
  });
  if (events.length) channel.postMessage({ kind: "changed", jobs: jobsOf(events) });
}

/** Put a refused entry back among those to send, and sync. */
export async function sendAgain(id) {
  const refused = (await records.refused()).filter((row) => row.id === id);
  await records.takeBack(id);
  await summarize(refused.map((row) => row.event));
  return sync();
}
