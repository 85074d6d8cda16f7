// Times calls of the core's door on the shipped MicroPython. In: {"static", "bundle", "times", "calls"} on standard
// input. Out: for each call the milliseconds of every repeat.

import fs from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";

const given = JSON.parse(fs.readFileSync(0, "utf8"));
const engines = await import(pathToFileURL(path.join(given.static, "js/worker/engines.js")));

engines.configure(async (address) => address === "bundle"
  ? new Response(given.bundle)
  : new Response(fs.readFileSync(path.join(given.static, address.replace("/static/", ""))),
                 { headers: { "Content-Type": "application/wasm" } }), "bundle");

const answers = [];
for (const [name, ...values] of given.calls) {
  await engines.call(name, ...values);
  const times = [];
  for (let i = 0; i < given.times; i += 1) {
    const start = performance.now();
    await engines.call(name, ...values);
    times.push(performance.now() - start);
  }
  answers.push(times);
}
fs.writeFileSync(1, JSON.stringify(answers));
process.exit(0);
