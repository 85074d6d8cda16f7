// The phone's own records in IndexedDB. State lives here only; a write is done when its transaction is.

import { openDB } from "../../vendor/idb/index.js";

const NAME = "spanwright";
const VERSION = 5;
const OPEN_MS = 8000;
// Rows of the stock list in one record; a look-up reads one record as a whole.
const BLOCK = 500;
// What browsers call a connection that was lost, mostly after the app was in the background.
const LOST = ["InvalidStateError", "UnknownError"];

let opened = null;

/** Storage is full: nothing of the write was kept. */
export class StorageFull extends Error {}

function open() {
  opened ??= Promise.race([
    openDB(NAME, VERSION, {
      upgrade(db, before, _now, tx) {
        // The saved drives: those of this device's jobs follow from its entries, the others come from the server.
        if (before < 2) db.createObjectStore("drives", { keyPath: "id" }).createIndex("job", "job");
        // What the server hands out whole and few screens need: the table of causes under "causes".
        if (before < 3) db.createObjectStore("handed_out");
        // The stock list in blocks, each under [seal of its list, "keys" or "lines", the first that it holds]. A line and its keys
        // one by one, each with the seal in an index, took seven times the room.
        if (before < 5) {
          if (before === 4) {
            db.deleteObjectStore("stock");
            tx.objectStore("meta").delete("stock_seal");
          }
          db.createObjectStore("stock");
        }
        if (before) return;
        const events = db.createObjectStore("events", { keyPath: "id" });
        events.createIndex("job", "job");
        events.createIndex("state", "state");
        const jobs = db.createObjectStore("jobs", { keyPath: "id" });
        jobs.createIndex("token", "tokens", { multiEntry: true });
        jobs.createIndex("code", "code");
        // Sounds as well, which came later: a file tells by the type of its blob what it is.
        db.createObjectStore("photos", { keyPath: "sha256" }).createIndex("state", "state");
        // Apart from the events, since the server may hold another entry under the same id.
        db.createObjectStore("refused", { keyPath: "id" });
        db.createObjectStore("meta");
      },
      blocking: (_now, _wanted, event) => { event.target.close(); opened = null; },
      terminated: () => { opened = null; },
    }),
    new Promise((_, late) => setTimeout(late, OPEN_MS, new Error("The records did not open in time."))),
  ]).catch((error) => { opened = null; throw error; });
  return opened;
}

// A lost connection is opened once more; a second failure is for the caller.
async function using(work) {
  try {
    return await work(await open());
  } catch (error) {
    if (!LOST.includes(error.name)) throw error;
    opened = null;
    return work(await open());
  }
}

// One transaction for a whole write, all or nothing.
function writeOnce(stores, work) {
  return using(async (db) => {
    const tx = db.transaction(stores, "readwrite", { durability: "strict" });
    try {
      await Promise.all([work(tx), tx.done]);
    } catch (error) {
      try { tx.abort(); } catch { /* it has ended already */ }
      throw error;
    }
  });
}

// Whether the last write found no room. A phone that is full to the brim cannot even keep that.
let noRoom = false;

// When storage is full, pictures and sounds that the server has make room, once.
async function write(stores, work) {
  try {
    return await writeIfRoom(stores, work);
  } catch (error) {
    if (!(error instanceof StorageFull)) throw error;
  }
  await dropSentFiles();
  return writeIfRoom(stores, work);
}

async function writeIfRoom(stores, work) {
  try {
    const kept = await writeOnce(stores, work);
    noRoom = false;
    return kept;
  } catch (error) {
    noRoom = isFull(error);
    throw noRoom ? new StorageFull() : error;
  }
}

function isFull(error) {
  return error?.name === "QuotaExceededError";
}

function dropSentFiles() {
  return using(async (db) => {
    const keys = await db.getAllKeysFromIndex("photos", "state", "sent");
    const tx = db.transaction("photos", "readwrite");
    await Promise.all([...keys.map((key) => tx.store.delete(key)), tx.done]);
  });
}

/** Everything this device knows about itself, with a value for what is not set yet. */
export function about() {
  return using(async (db) => {
    const tx = db.transaction("meta");
    const [keys, values] = await Promise.all([tx.store.getAllKeys(), tx.store.getAll()]);
    const meta = { device: "", who: "", verified: false, n: 1, ready: false, people: [], shop: null,
                   last_sync: "", problem: "", persisted: null,
                   // How far the server's log is known: the number of its entry and that entry's hash.
                   mark: 0, mark_hash: "",
                   // The server turned out to lack what it once had, and has not been offered it again.
                   put_back: false,
                   // What the server said of the library when it was last taken in whole.
                   drives_seal: "",
                   // The same for the table of causes with the workshop's own counts.
                   causes_seal: "",
                   // The same for the stock list, which one the server has, which one had no room here, and when (milliseconds).
                   stock_seal: "", stock_wanted: "", stock_full: "", stock_full_at: 0,
                   // The server's next word on who is signed in counts, until a person is picked here.
                   adopt: true };
    keys.forEach((key, i) => { meta[key] = values[i]; });
    return meta;
  });
}

/** Set some of what `about` returns, in one transaction. */
export function set(changes) {
  return write(["meta"], (tx) => putMeta(tx, changes));
}

function putMeta(tx, changes) {
  const store = tx.objectStore("meta");
  return Promise.all(Object.entries(changes).map(([key, value]) => store.put(value, key)));
}

/** Keep the table of causes with the workshop's own counts: { table, counts }. */
export function keepCauses(causes, seal) {
  return write(["handed_out", "meta"], (tx) => Promise.all([
    tx.objectStore("handed_out").put(causes, "causes"), putMeta(tx, { causes_seal: seal })]));
}

/** What `keepCauses` kept, or undefined. */
export function causes() {
  return using((db) => db.get("handed_out", "causes"));
}

/** Keep some rows of a stock list, sorted: part "lines" has [number, line], part "keys" [key, numbers of lines]. Not used before `useStock`. */
export function addStock(seal, part, rows) {
  const starts = rows.map((_, i) => i).filter((i) => i % BLOCK === 0);
  return write(["stock"], (tx) => Promise.all(starts.map((i) => tx.store.put(rows.slice(i, i + BLOCK), [seal, part, rows[i][0]]))));
}

/** Use the list that was kept under this seal, and let go of every other; "" for none. */
export function useStock(seal) {
  return write(["stock", "meta"], (tx) => Promise.all([
    keepStock(tx.objectStore("stock"), seal), putMeta(tx, { stock_seal: seal, stock_full: "" })]));
}

/** Let go of every list but the one in use; `tooLong` is the seal of one that had no room. */
export function dropStock(used, tooLong = "") {
  return write(["stock", "meta"], (tx) => Promise.all([
    keepStock(tx.objectStore("stock"), used), putMeta(tx, { stock_full: tooLong, stock_full_at: Date.now() })]));
}

// Keys that are lists come in the order of their parts, and a list after every text.
function keepStock(store, seal) {
  return seal ? Promise.all([store.delete(IDBKeyRange.upperBound([seal], true)), store.delete(IDBKeyRange.lowerBound([seal, []]))])
    : store.clear();
}

// What stands under `wanted` in the one block that can hold it, or undefined.
async function inStock(db, seal, part, wanted) {
  const range = IDBKeyRange.bound([seal, part], [seal, part, wanted]);
  const block = await db.transaction("stock").store.openCursor(range, "prev");
  return block?.value.find(([first]) => first === wanted)?.[1];
}

/** The lines of the list in use that any of the keys names, in the form of the core's need `stock`. */
export function stock(seal, keys) {
  return using(async (db) => {
    const numbers = seal ? (await Promise.all(keys.map((key) => inStock(db, seal, "keys", key)))).flat().filter(Boolean) : [];
    const some = [...new Set(numbers)].sort((a, b) => a - b).slice(0, 60);
    return { known: Boolean(seal), lines: await Promise.all(some.map((number) => inStock(db, seal, "lines", number))) };
  });
}

/** The events of a job as the core wants them. What the server refused is not part of the job. */
export function eventsOf(job) {
  return using(async (db) => (await db.getAllFromIndex("events", "job", job)).map((row) => row.event));
}

/** The summaries of all jobs on this device. */
export function board() {
  return using(async (db) => (await db.getAll("jobs")).map((row) => row.summary));
}

/** The jobs that a tag's token or a typed code names; a voided tag still tells its job. */
export function found({ token, code }) {
  return using(async (db) => {
    const rows = token
      ? await db.getAllFromIndex("jobs", "token", token)
      : await db.getAllFromIndex("jobs", "code", code.toUpperCase().replace(/[^0-9A-Z]/g, ""));
    const live = rows.filter((row) => !row.summary.tags.some(([name, voided]) => name === token && voided));
    return { jobs: (live.length ? live : rows).map((row) => row.summary), voided: rows.length > 0 && !live.length };
  });
}

function jobRow(summary) {
  return { id: summary.id, summary, tokens: summary.tags.map(([token]) => token),
           code: (summary.code ?? "").replaceAll(" ", "") };
}

// What follows from jobs: [{ summary, drives }, ...].
function putDigests(tx, digests) {
  return Promise.all(digests.map(async ({ summary, drives }) => {
    await tx.objectStore("jobs").put(jobRow(summary));
    const held = await tx.objectStore("drives").index("job").getAllKeys(summary.id);
    await Promise.all(held.map((id) => tx.objectStore("drives").delete(id)));
    await Promise.all(drives.map((drive) => tx.objectStore("drives").put(drive)));
  }));
}

/** Keep new entries of this device, and forget pictures: with counter and what follows in one transaction. */
export function keep(events, nextN, digests, dropped) {
  return write(["events", "jobs", "drives", "photos", "meta"], (tx) => Promise.all([
    ...dropped.map((sha256) => tx.objectStore("photos").delete(sha256)),
    ...events.map((event) => tx.objectStore("events").add(
      { id: event.id, job: event.job, state: "waiting", event })),
    putDigests(tx, digests),
    putMeta(tx, { n: nextN }),
  ]));
}

/** Take in entries from the server with the mark that they reach; own ones get their place in the order. */
export function takeIn(events, digests, changes) {
  return write(["events", "jobs", "drives", "meta"], (tx) => Promise.all([
    ...events.map((event) => tx.objectStore("events").put(
      { id: event.id, job: event.job, state: "sent", event })),
    putDigests(tx, digests),
    putMeta(tx, changes),
  ]));
}

/** Ids of a job's entries that the server has given or taken. */
export function sentIdsOf(job) {
  return using(async (db) => (await db.getAllFromIndex("events", "job", job))
    .filter((row) => row.state === "sent").map((row) => row.id));
}

/** Ids of all entries that the server has given or taken. */
export function sentIds() {
  return using((db) => db.getAllKeysFromIndex("events", "state", "sent"));
}

/** Entries to send, oldest first; those that the server had before in the order that they had there. */
export function waiting() {
  const place = ({ was }) => was ?? Number.MAX_SAFE_INTEGER;
  return using(async (db) => (await db.getAllFromIndex("events", "state", "waiting"))
    .sort((a, b) => place(a) - place(b) || a.event.n - b.event.n).map((row) => row.event));
}

/** Put entries back among those to send that the server has no more; returns them. */
export async function offerAgain(ids) {
  const offered = [];
  await write(["events"], (tx) => Promise.all(ids.map(async (id) => {
    const row = await tx.store.get(id);
    if (row?.state !== "sent") return;
    const { seq, received, prev, hash, verified, ...event } = row.event;
    await tx.store.put({ id, job: row.job, state: "waiting", event, was: seq });
    offered.push(event);
  })));
  return offered;
}

/** Entries that the server refused: [{id, event, code, sentence}, ...]. */
export function refused() {
  return using((db) => db.getAll("refused"));
}

/** Note that the server has these entries. */
export function markSent(ids) {
  return write(["events"], (tx) => Promise.all(ids.map(async (id) => {
    const row = await tx.store.get(id);
    if (row) await tx.store.put({ ...row, state: "sent" });
  })));
}

/** Put entries aside that the server refused: [{id, code, sentence}, ...]. */
export function putAside(refusals) {
  return write(["events", "refused"], (tx) => Promise.all(refusals.map(async ({ id, code, sentence }) => {
    const row = await tx.objectStore("events").get(id);
    if (!row) return;
    await tx.objectStore("refused").put({ id, event: row.event, code, sentence });
    await tx.objectStore("events").delete(id);
  })));
}

/** Put a refused entry back among those to send, unless another one has its id by now. */
export function takeBack(id) {
  return write(["events", "refused"], async (tx) => {
    const row = await tx.objectStore("refused").get(id);
    if (!row || await tx.objectStore("events").get(id)) return;
    await tx.objectStore("events").put({ id, job: row.event.job, state: "waiting", event: row.event });
    await tx.objectStore("refused").delete(id);
  });
}

/** Keep a picture or a sound by the hash of its bytes. */
export function keepFile(sha256, blob, state) {
  return write(["photos"], async (tx) => {
    if (!await tx.store.get(sha256)) await tx.store.put({ sha256, blob, state });
  });
}

/** A picture's or a sound's blob, or undefined. */
export function file(sha256) {
  return using(async (db) => (await db.get("photos", sha256))?.blob);
}

const isSound = (blob) => blob.type === "audio/wav";

// For each file that waits, whether it is a sound.
function waitingSounds() {
  return using(async (db) => (await db.getAllFromIndex("photos", "state", "waiting")).map(({ blob }) => isSound(blob)));
}

/** How much is waiting to be sent. */
export function countWaiting() {
  return using(async (db) => {
    const counts = await Promise.all(["events", "photos"].map((store) => db.countFromIndex(store, "state", "waiting")));
    return counts[0] + counts[1];
  });
}

/** Hashes of the pictures and sounds to send. */
export function waitingFiles() {
  return using((db) => db.getAllKeysFromIndex("photos", "state", "waiting"));
}

/** Hashes of the pictures and sounds that the server has. */
export function sentFiles() {
  return using((db) => db.getAllKeysFromIndex("photos", "state", "sent"));
}

/** Note how a picture or a sound stands: "waiting", "sent" or "refused", and in which words it was refused. */
export function markFile(sha256, state, sentence = "") {
  return write(["photos"], async (tx) => {
    const row = await tx.store.get(sha256);
    if (row) await tx.store.put({ ...row, state, sentence });
  });
}

// The files that an entry names: its photo, or the sounds of its readings.
const filesOf = ({ data }) => [data.sha256, ...(data.sounds ?? [])].filter(Boolean);

/** Files that the server refused, with the jobs that show them: [{sha256, sentence, sound, jobs: [{id, registration}]}, ...]. */
export function refusedFiles() {
  return using(async (db) => {
    const rows = await db.getAllFromIndex("photos", "state", "refused");
    if (!rows.length) return [];
    const [events, jobs] = await Promise.all([db.getAll("events"), db.getAll("jobs")]);
    const withdrawn = new Set(events.filter(({ event }) => event.kind === "withdrawn").map(({ event }) => event.replaces));
    return rows.map(({ sha256, sentence, blob }) => {
      const showing = new Set(events.filter(({ id, event }) => filesOf(event).includes(sha256) && !withdrawn.has(id))
        .map(({ job }) => job));
      return { sha256, sentence, sound: isSound(blob), jobs: jobs.filter(({ id }) => showing.has(id))
        .map(({ id, summary }) => ({ id, registration: summary.registration })) };
    });
  });
}

/** Drop signed jobs that the server has whole: all but the newest `most`, and those without an entry since a server's time. */
export async function prune(most, since) {
  const signed = await using(async (db) => (await db.getAll("jobs")).map((row) => row.summary)
    .filter((summary) => summary.signed && !summary.unsent).sort((a, b) => b.turn[1] - a.turn[1]));
  for (const [i, summary] of signed.entries()) {
    if (i >= most || summary.received < since) await dropJob(summary.id);
  }
}

function dropJob(job) {
  return write(["events", "jobs", "photos", "refused"], async (tx) => {
    const rows = await tx.objectStore("events").index("job").getAll(job);
    const names = rows.flatMap(({ event }) => filesOf(event));
    const files = (await Promise.all(names.map((name) => tx.objectStore("photos").get(name)))).filter(Boolean);
    const refused = (await tx.objectStore("refused").getAll()).some(({ event }) => event.job === job);
    if (refused || [...rows, ...files].some(({ state }) => state !== "sent")) return;
    await Promise.all([...rows.map(({ id }) => tx.objectStore("events").delete(id)), tx.objectStore("jobs").delete(job),
                       ...files.map(({ sha256 }) => tx.objectStore("photos").delete(sha256))]);
  });
}

/** Ids of the saved drives on this device that the server has. */
export function driveIds() {
  return using(async (db) => (await db.getAll("drives")).filter(({ received }) => received).map(({ id }) => id));
}

/**
 * Take in saved drives from the server and let go of others. Those of this device's own jobs are left alone: they
 * follow from its entries, and some may not be sent yet. `seal` says that the library is complete, or is "".
 */
export function takeDrives(drives, gone, seal) {
  return write(["drives", "jobs", "meta"], async (tx) => {
    const own = new Set(await tx.objectStore("jobs").getAllKeys());
    const store = tx.objectStore("drives");
    const left = (await Promise.all(gone.map((id) => store.get(id)))).filter((row) => row && !own.has(row.job));
    await Promise.all([
      ...left.map(({ id }) => store.delete(id)),
      ...drives.filter(({ job }) => !own.has(job)).map((drive) => store.put(drive)),
      putMeta(tx, { drives_seal: seal }),
    ]);
  });
}

/** The saved drives: what is not sent yet, then the newest first. */
export function drives() {
  const key = ({ received, id }) => [received || "unsent", id].join(" ");
  return using(async (db) => (await db.getAll("drives")).sort((a, b) => (key(a) < key(b) ? 1 : -1)));
}

/** A saved drive with its data, or undefined. */
export function drive(id) {
  return using((db) => db.get("drives", id));
}

/** What this device has not sent, in the form of the core's need `outbox`. */
export async function outbox() {
  const [events, sounds, stuck, pictures, meta] = await Promise.all(
    [waiting(), waitingSounds(), refused(), refusedFiles(), about()]);
  return { waiting: events.length, photos: sounds.filter((sound) => !sound).length, sounds: sounds.filter(Boolean).length, refused_photos: pictures, last_sync: meta.last_sync,
           full: noRoom || meta.problem === "full", refused: stuck.map(({ id, code, sentence }) => ({ event: id, code, sentence })) };
}
