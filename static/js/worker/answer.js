// Answers a request from the phone's own records: the core decides, the records are kept, a template is shown.

import { CoreError, call, render, start } from "./engines.js";
import * as records from "./records.js";

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

/** Show the page that says what went wrong and what to do. */
export async function trouble(status, title, what, advice, path, build) {
  try {
    const frame = frameOf(await records.about(), await records.countWaiting(), path, build);
    return html(await render("trouble.html", { title, what, advice, frame }), status);
  } catch (error) {
    // Neither records nor engines may be at hand; the words still have to reach the person.
    console.error(error);
    return new Response(`${title}. ${what} ${advice}`, { status, headers: { "Content-Type": "text/plain; charset=utf-8" } });
  }
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
    return trouble(422, "Not recorded", error.message, "Go back, look at the entry and save it again.", asked.path, build);
  }
  if (reply.do === "page") {
    const frame = frameOf(me, unsent, asked.path, build);
    return html(await render(reply.template, { ...reply.context, frame }), reply.status);
  }
  if (reply.do === "be") {
    await records.set({ who: reply.person, verified: false, adopt: false });
  } else if (reply.do === "record") {
    try {
      await keep(reply.events, given.n);
    } catch (error) {
      if (!(error instanceof records.StorageFull)) throw error;
      return storageFull(asked.path, build);
    }
    wrote();
  }
  return Response.redirect(new URL(reply.goto, location.origin), 303);
}

/** The page for a phone without room: nothing was recorded, and the browser's way back keeps what was typed. */
export function storageFull(path, build) {
  return trouble(507, "This phone's storage is full", "This entry was not recorded.",
                 "Free some space on the phone (old pictures or videos), go back, and save again. What you typed is still there.",
                 path, build);
}

async function fetchGiven(me, needs, params, asked) {
  const given = { now: new Date().toISOString().slice(0, 19) + "Z", who: me.who, device: me.device, n: me.n,
                  ids: Array.from({ length: 12 }, () => crypto.randomUUID()), host: "phone" };
  const fetchers = {
    job: async () => { given.events = await records.eventsOf(params.job); },
    board: async () => { given.board = await records.board(); },
    people: () => { given.people = me.people; },
    shop: () => { given.shop = me.shop; },
    found: async () => { given.found = await records.found(searched(params, asked)); },
    outbox: async () => { given.outbox = await records.outbox(); },
  };
  await Promise.all(needs.map((need) => fetchers[need]()));
  return given;
}

// A tag's token stands in the path; a typed code comes in the query or the form.
function searched({ token }, asked) {
  const typed = [...asked.query, ...asked.form].find(([name]) => name === "code");
  return { token: token ?? "", code: typed?.[1] ?? "" };
}

async function keep(events, firstN) {
  const jobs = [...new Set(events.map((event) => event.job))];
  const summaries = await Promise.all(jobs.map(async (job) => {
    const old = await records.eventsOf(job);
    return call("summary", [...old, ...events.filter((event) => event.job === job)]);
  }));
  await records.keep(events, firstN + events.length, summaries);
}

function frameOf(me, waiting, path, build) {
  const person = me.people.find((one) => one.id === me.who);
  return { person: person?.name ?? "", person_verified: me.verified, shop: me.shop?.name ?? "", host: "phone",
           unsent: waiting ? String(waiting) : "", path, build };
}

function html(text, status) {
  return new Response(text, { status, headers: { "Content-Type": "text/html; charset=utf-8", "Cache-Control": "no-store" } });
}
