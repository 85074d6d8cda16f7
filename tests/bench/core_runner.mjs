// Times calls of the core's door on the shipped MicroPython, and its long sums. In: {"static", "bundle": base64, "times", "calls":
// [[name, ...values], ...], "sums": [[name, argument as JSON], ...]} on standard input. Out: for each call, then for each sum,
// [milliseconds by the clock, milliseconds of the processor] of every repeat.

import fs from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";

const given = JSON.parse(fs.readFileSync(0, "utf8"));
const engines = await import(pathToFileURL(path.join(given.static, "js/worker/engines.js")));

engines.configure(async (address) => address === "bundle"
  ? new Response(Buffer.from(given.bundle, "base64"))
  : new Response(fs.readFileSync(path.join(given.static, address.replace("/static/", ""))),
                 { headers: { "Content-Type": "application/wasm" } }), "bundle");

async function timed(work) {
  await work();
  const times = [];
  for (let i = 0; i < given.times; i += 1) {
    const start = performance.now();
    const before = process.cpuUsage();
    await work();
    const { user, system } = process.cpuUsage(before);
    times.push([performance.now() - start, (user + system) / 1000]);
  }
  return times;
}

const answers = [];
for (const [name, ...values] of given.calls) answers.push(await timed(() => engines.call(name, ...values)));
if (given.sums.length) {
  const interpreter = await engines.startInterpreter();
  interpreter.runPython("from core.door import long_sum");
  const sum = interpreter.globals.get("long_sum");
  for (const [name, text] of given.sums) answers.push(await timed(() => sum(name, text)));
}
fs.writeFileSync(1, JSON.stringify(answers));
process.exit(0);
