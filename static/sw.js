// The service worker: which address is answered from where. The server puts a line `const BUILD = ...`
// in front: the version, the bundle of core and templates, the headers of pages, and the files that pages load.

import { answer, configure, full, offline, say } from "./static/js/worker/answer.js";
import * as engines from "./static/js/worker/engines.js";
import { keptFile, putFile, unsentFile } from "./static/js/worker/files.js";
import * as records from "./static/js/worker/records.js";
import { renewSummaries, sendAgain, sendPhotoAgain, sync, welcome } from "./static/js/worker/sync.js";

const CACHE = "spanwright-" + BUILD.version;
// What only the server answers; the browser asks it as if there were no worker.
const SERVER_ONLY = ["/sync/", "/build/", "/connect", "/version.json", "/sw.js"];
// What needs the server and says so without it.
const OFFICE = ["/office", "/signin", "/signout"];
const SIGN = /^\/jobs\/[^/]+\/sign$/;
const NETWORK_MS = 15000;
const SETTLE_MS = 8000;

engines.configure(asset, BUILD.core);
configure(BUILD.headers);

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate()));
self.addEventListener("sync", (event) => event.waitUntil(sync()));

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== location.origin || SERVER_ONLY.some((start) => url.pathname.startsWith(start))) return;
  const response = respond(event, url.pathname);
  if (response) event.respondWith(response);
});

// A frozen contract: pages of any version may talk to a worker of any other.
self.addEventListener("message", (event) => {
  const { kind, id, value } = event.data;
  const work = {
    "take-over": () => self.skipWaiting(),
    "sync": () => syncAndFetch(value === "by hand"),
    "status": () => welcome(value),
    "send-again": () => sendAgain(id),
    "send-photo-again": () => sendPhotoAgain(id),
    "persisted": () => records.set({ persisted: value }),
  }[kind];
  if (work) event.waitUntil(work());
});

function respond(event, path) {
  const { request } = event;
  const reading = request.method === "GET";
  if (!reading && isForged(request)) return forged(path);
  if (path.startsWith("/static/")) return reading ? asset(request) : undefined;
  if (path.startsWith("/photos/") || path.startsWith("/sounds/")) return attached(event, ...path.split("/").slice(1, 3));
  if (path === "/outbox/unsent.json" && reading) return unsentFile();
  if (OFFICE.some((start) => path.startsWith(start))) return reading ? network(request, path) : atTheServer(event, path);
  if (request.method === "POST" && SIGN.test(path)) return atTheServer(event, path);
  if (reading || request.method === "POST") return local(event, path);
  return undefined;
}

// The browser hands over navigations from any site, and an entry kept here never passes the server's guard. Only
// pages of this address may send a form; they always tell where it comes from, another site's may hide it.
function isForged(request) {
  return request.mode === "navigate" && !request.referrer.startsWith(location.origin + "/");
}

function forged(path) {
  return say("trouble.html", { title: "Not from here", what: "This came from another site, so nothing was changed.",
                               advice: "Open Spanwright itself and enter it there." }, 403, path, BUILD.version);
}

// Files of this version come from its cache; a file that the browser threw away comes from the server.
async function asset(request) {
  return (await (await caches.open(CACHE)).match(request)) ?? fetch(request);
}

async function local(event, path) {
  try {
    return (await answer(event.request, BUILD.version, () => afterWrite(event))) ?? network(event.request, path);
  } catch (error) {
    console.error(error);
    return say("trouble.html", { title: "Something went wrong here", what: "Spanwright could not show or save this.",
                                 advice: "Go back and try once more. Nothing that was saved before is lost." },
               500, path, BUILD.version);
  }
}

function afterWrite(event) {
  event.waitUntil(syncAndFetch());
  // Where the browser offers it, it wakes the worker once there is network again.
  event.waitUntil(Promise.resolve(self.registration.sync?.register("outbox")).catch(() => {}));
}

async function network(request, path) {
  try {
    // Only a question can be given up on: an answer to a form that is late may still be carried out.
    return await (request.method === "GET" && request.mode !== "navigate"
      ? fetch(request, { signal: AbortSignal.timeout(NETWORK_MS) }) : fetch(request));
  } catch {
    return (await keptSignIn(request, path)) ?? offline(path, BUILD.version);
  }
}

async function keptSignIn(request, path) {
  return request.method === "GET" && path === "/signin" ? (await caches.open(CACHE)).match("/signin") : undefined;
}

// A signature covers what the server has, so it gets everything first; afterwards this phone takes in what changed.
async function atTheServer(event, path) {
  if (SIGN.test(path)) await sync();
  const response = await network(event.request, path);
  if (path === "/signout") await records.set({ who: "", verified: false, adopt: false });
  if (path === "/signin" && response.status < 400) await records.set({ adopt: true });
  const settled = sync();
  event.waitUntil(settled.then(fetchLater));
  await Promise.race([settled, new Promise((late) => setTimeout(late, SETTLE_MS))]);
  return response;
}

async function attached(event, folder, sha256) {
  const { request } = event;
  if (request.method === "PUT") {
    const me = await records.about();
    if (!me.ready) return fetch(request);
    try {
      return await putFile(request, folder, sha256);
    } catch (error) {
      if (!(error instanceof records.StorageFull)) throw error;
      return full(`/${folder}/${sha256}`, BUILD.version);
    }
  }
  return (await keptFile(sha256)) ?? fetch(request);
}

// Somebody who asks by hand may have made room.
async function syncAndFetch(byHand = false) {
  if (byHand) await records.set({ stock_full: "" }).catch((error) => console.info(error));
  await sync();
  await fetchLater();
}

async function install() {
  const cache = await caches.open(CACHE);
  const fresh = (address) => new Request(address, { cache: "no-cache" });
  await cache.addAll([...BUILD.assets, BUILD.core].map(fresh));
  await cache.add("/signin").catch(() => { /* it is only a fallback */ });
}

async function activate() {
  for (const name of await caches.keys()) {
    if (name.startsWith("spanwright-") && name !== CACHE) await caches.delete(name);
  }
  await renewSummaries();
  await self.clients.claim();
}

// The code reader is large and can wait until the phone is enrolled.
async function fetchLater() {
  if (!(await records.about()).ready) return;
  const cache = await caches.open(CACHE);
  for (const address of BUILD.later) {
    if (!await cache.match(address)) await cache.add(address).catch(() => { /* next sync tries again */ });
  }
}
