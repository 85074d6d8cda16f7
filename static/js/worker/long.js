// Sums too long for the service worker: a page starts this worker, which has a MicroPython of its own.
// In: {build} to get ready, {build, name, text} for a sum. Out: {share} while it runs, then {answer: JSON text} or {failed: true}.

import { configure, startInterpreter } from "./engines.js";

let starting = null;

// The service worker leaves /build/ to the network, so the bundle that it keeps is looked for here.
async function kept(address) {
  return (await globalThis.caches?.match(address)) ?? fetch(address);
}

async function start(build) {
  configure(kept, `/build/${build}/core.bin`);
  const interpreter = await startInterpreter();
  interpreter.runPython("from core.door import long_sum");
  return interpreter.globals.get("long_sum");
}

self.addEventListener("message", async ({ data: { build, name, text } }) => {
  try {
    starting ??= start(build);
    const sum = await starting;
    if (!name) return;
    self.postMessage({ answer: sum(name, text, (share) => self.postMessage({ share })) });
  } catch (error) {
    console.error(error);
    starting = null;
    self.postMessage({ failed: true });
  }
});
