// Answers a request from the phone's own records: the core decides, the records are kept, a template is shown.

import { CoreError, call, render, start } from "./engines.js";
import * as records from "./records.js";

let pageHeaders = {};

/** Say which headers every page carries, the same as the server's. */
export function configure(headers) {
  pageHeaders = headers;
}

/** Writing is one at a time, so that no two entries get the same counter. */
export function exclusively(work) {
  return navigator.locks.request("spanwright-records", work);
}

/**
 * Answer a request, or return null for what only the server can answer.
 * `build` is the version shown on pages; `wrote` is called after entries were kept.
 */
export async function answer(request, build, wrote) {
  start().catch((error) => console.error(error));
  const me = await records.about();
  if (!me.ready) return null;
  const url = new URL(request.url);
  const asked = { method: request.method, path: url.pathname };
  const { needs, params } = await call("match", asked);
  if (needs === null) return null;
  asked.query = [...url.searchParams];
  asked.form = request.method === "POST" ? await formOf(request) : [];
  if (request.method === "GET") return carryOut(me, asked, needs, params, build, wrote);
  // The counter is read again inside: another write may have come first.
  return exclusively(async () => carryOut(await records.about(), asked, needs, params, build, wrote));
}

/** Show a page of the worker's own: what went wrong, and what to do. */
export async function say(template, context, status, path, build) {
  try {
    const [me, unsent] = await Promise.all([records.about(), records.countWaiting()]);
    return html(await render(template, { ...context, frame: frameOf(me, unsent, path, build) }), status);
  } catch (error) {
    // Neither records nor engines may be at hand; the words still have to reach the person.
    console.error(error);
    return new Response(context.title, { status, headers: { "Content-Type": "text/plain; charset=utf-8" } });
  }
}

/** The server does not answer. */
export function offline(path, build) {
  return say("offline.html", { title: "Needs the workshop network" }, 503, path, build);
}

/** The phone has no room: nothing was recorded, and the browser's way back keeps what was typed. */
export function full(path, build) {
  return say("full.html", { title: "Not saved: the phone's storage is full" }, 507, path, build);
}

async function formOf(request) {
  const fields = await request.clone().formData();
  return [...fields].filter(([, value]) => typeof value === "string");
}

async function carryOut(me, asked, needs, params, build, wrote) {
  const [given, unsent] = await Promise.all([fetchGiven(me, needs, params, asked), records.countWaiting()]);
  let reply;
  try {
    reply = await call("handle", asked, given);
  } catch (error) {
    if (!(error instanceof CoreError)) throw error;
    const context = { title: "Not saved", what: error.message, advice: "Go back, look at the entry and save it again." };
    return say("trouble.html", context, 422, asked.path, build);
  }
  if (reply.do === "page") {
    const frame = frameOf(me, unsent, asked.path, build);
    return html(await render(reply.template, { ...reply.context, frame }), reply.status);
  }
  if (reply.do === "file") {
    return new Response(reply.text, { headers: { ...pageHeaders, "Content-Type": reply.type, "Cache-Control": "no-store",
                                                 "Content-Disposition": `attachment; filename="${reply.name}"` } });
  }
  if (reply.do === "be") {
    await records.set({ who: reply.person, verified: false, adopt: false });
  } else if (reply.do === "record") {
    try {
      await keep(reply.events, given.n, reply.drop);
    } catch (error) {
      if (!(error instanceof records.StorageFull)) throw error;
      return full(asked.path, build);
    }
    wrote();
  }
  return Response.redirect(new URL(reply.goto, location.origin), 303);
}

async function fetchGiven(me, needs, params, asked) {
  const given = { now: new Date().toISOString().slice(0, 19) + "Z", who: me.who, device: me.device, n: me.n,
                  ids: Array.from({ length: 40 }, () => crypto.randomUUID()), host: "phone" };
  const fetchers = {
    job: async () => { given.events = await records.eventsOf(params.job); },
    board: async () => { given.board = await records.board(); },
    cars: async () => { given.cars = await records.board(); },
    people: () => { given.people = me.people; },
    shop: () => { given.shop = me.shop; },
    found: async () => { given.found = await records.found(searched(params, asked)); },
    outbox: async () => { given.outbox = await records.outbox(); },
    table: async () => { Object.assign(given, (await records.causes()) ?? { table: null, counts: null }); },
    // Most jobs hold no answer that needs the table's words.
    checks: async () => {
      const answered = (await records.eventsOf(params.job)).some(({ kind }) => kind === "check_answered");
      return answered ? fetchers.table() : Object.assign(given, { table: null, counts: null });
    },
    drives: async () => { given.drives = (await records.drives()).map(({ data, ...row }) => row); },
    drive: async () => { given.drive = (await records.drive(params.drive ?? fieldOf("saved", asked))) ?? null; },
  };
  await Promise.all(needs.filter((need) => need !== "stock").map((need) => fetchers[need]()));
  // The list is long: the core says by which keys this screen looks lines up.
  if (needs.includes("stock")) {
    given.stock = await records.stock(me.stock_seal, await call("stock_keys", asked, given.events, given.now.slice(0, 10)));
  }
  return given;
}

// A tag's token or a typed code stands in the path, the query or the form.
function searched(params, asked) {
  const first = (wanted) => params[wanted] ?? fieldOf(wanted, asked);
  return { token: first("token"), code: first("code") };
}

function fieldOf(wanted, asked) {
  return [...asked.query, ...asked.form].find(([name]) => name === wanted)?.[1] ?? "";
}

async function keep(events, firstN, dropped) {
  const jobs = [...new Set(events.map((event) => event.job))];
  const digests = await Promise.all(jobs.map(async (job) => {
    const old = await records.eventsOf(job);
    return digest([...old, ...events.filter((event) => event.job === job)]);
  }));
  await records.keep(events, firstN + events.length, digests, dropped);
}

/** What follows from a job's entries and is kept beside them: { summary, drives }. */
export async function digest(events) {
  const withDrives = events.some(({ kind }) => kind === "drive_recorded");
  return { summary: await call("summary", events), drives: withDrives ? await call("drives", events) : [] };
}

function frameOf(me, waiting, path, build) {
  const person = me.people.find((one) => one.id === me.who);
  return { person: person?.name ?? "", person_verified: me.verified, shop: me.shop?.name ?? "", host: "phone",
           unsent: waiting ? String(waiting) : "", path, build };
}

function html(text, status) {
  return new Response(text, { status, headers: { ...pageHeaders, "Content-Type": "text/html; charset=utf-8",
                                                 "Cache-Control": "no-store" } });
}
