// Runs the shipped engines under Node, by the very module that the service worker uses.
// In: {"static": folder, "bundle": base64, "prelude": Python, "cases": [...], "calls": [...], "pages": [...]} on standard
// input. Out: {"cases": [...], "calls": [...], "pages": [...]}, each answer being {"value"} or {"error"}.

import fs from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";

const given = JSON.parse(fs.readFileSync(0, "utf8"));
const engines = await import(pathToFileURL(path.join(given.static, "js/worker/engines.js")));

engines.configure(async (address) => address === "bundle"
  ? new Response(Buffer.from(given.bundle, "base64"))
  : new Response(fs.readFileSync(path.join(given.static, address.replace("/static/", ""))),
                 { headers: { "Content-Type": "application/wasm" } }), "bundle");

async function each(items, work) {
  const answers = [];
  for (const item of items ?? []) {
    try {
      answers.push({ value: await work(item) });
    } catch (error) {
      answers.push({ error: `${error.code ?? error.name}: ${error.message}` });
    }
  }
  return answers;
}

const answers = {
  calls: await each(given.calls, ([name, ...values]) => engines.call(name, ...values)),
  pages: await each(given.pages, ([template, context]) => engines.render(template, context)),
};
if (given.cases?.length) {
  const interpreter = await engines.startInterpreter();
  interpreter.runPython(given.prelude);
  const run = interpreter.globals.get("run");
  answers.cases = await each(given.cases, (one) => JSON.parse(run(JSON.stringify(one))));
}
fs.writeFileSync(1, JSON.stringify(answers));
process.exit(0);
