// Long sums for a page: they run in a worker of their own, so that the page stays quick and can give them up.

let worker = null;
let current = null;

/** There is no answer. The message is the core's sentence for people, "" when the worker itself did not run. */
export class SumError extends Error {}

/** The sum was given up; nobody needs to be told. */
export class GivenUp extends Error {}

/**
 * Work out a sum of the core's table of long sums (door.LONG_SUMS). A sum that still runs is given up.
 *
 * @param name       of the sum
 * @param argument   plain data
 * @param onProgress called with the share done, 0 to 1
 * @returns the value; throws SumError or GivenUp
 */
export function run(name, argument, onProgress = () => {}) {
  giveUp();
  worker ??= started();
  return new Promise((done, failed) => {
    current = { done, failed, onProgress };
    worker.postMessage({ build: document.body.dataset.build, name, text: JSON.stringify(argument) });
  });
}

/** Start the worker, so that the first sum need not wait for that. */
export function prepare() {
  if (worker) return;
  worker = started();
  worker.postMessage({ build: document.body.dataset.build });
}

/** Stop the sum that runs, if one does. */
export function giveUp() {
  if (!current) return;
  forget();
  end("failed", new GivenUp());
}

function started() {
  const made = new Worker("/static/js/worker/long.js", { type: "module" });
  made.addEventListener("message", ({ data }) => {
    if (made === worker) take(data);
  });
  // The worker's own file did not come.
  made.addEventListener("error", () => {
    if (made === worker) broke();
  });
  return made;
}

function take({ share, answer }) {
  if (share !== undefined) {
    current?.onProgress(Number(share));
  } else if (answer === undefined) {
    broke();
  } else {
    const { ok, value, sentence } = JSON.parse(answer);
    if (ok) end("done", value);
    else end("failed", new SumError(sentence));
  }
}

function broke() {
  forget();
  end("failed", new SumError(""));
}

// Its next start is a fresh one.
function forget() {
  worker?.terminate();
  worker = null;
}

function end(how, what) {
  const ended = current;
  current = null;
  ended?.[how](what);
}
