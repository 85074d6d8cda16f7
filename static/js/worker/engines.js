// The two engines: MicroPython runs the core, MiniJinja renders the templates. Both are caches: the
// worker may be stopped at any time, so they start when needed and hold nothing that matters.

import { loadMicroPython } from "../../vendor/micropython/micropython.mjs";
import startMiniJinja, { Environment } from "../../vendor/minijinja/minijinja.js";

const PYTHON = "/static/vendor/micropython/micropython.wasm";
const MINIJINJA = "/static/vendor/minijinja/minijinja.wasm";
// The core takes a tenth of this; the heap grows by itself when a job needs more.
const HEAP_BYTES = 1024 * 1024;

let fetchAsset = fetch;
let bundleAddress = "";
let bundle = null;
let python = null;
let pages = null;
// A trapped engine's objects must never be finalised: that would free memory of the fresh one.
const trapped = [];

/** The core refused something: a code, the field it belongs to and the sentence for people. */
export class CoreError extends Error {
  constructor({ code, field, sentence }) {
    super(sentence);
    Object.assign(this, { code, field, sentence });
  }
}

/** Say where the installed files come from: a function like fetch, and the bundle's address. */
export function configure(fetcher, address) {
  fetchAsset = fetcher;
  bundleAddress = address;
}

/** Start both engines side by side. */
export function start() {
  return Promise.all([thePython(), thePages()]);
}

/** Call a function of the core's door; only text crosses. Throws CoreError when the core says no. */
export async function call(name, ...values) {
  const text = JSON.stringify(values);
  const answer = JSON.parse(await orAfresh(async () => (await thePython())(name, text), () => { python = null; }));
  if (!answer.ok) throw new CoreError(answer);
  return answer.value;
}

/** Render a template of the bundle. */
export function render(name, context) {
  return orAfresh(async () => {
    const { environment, need } = await thePages();
    need(name);
    return environment.renderTemplate(name, context);
  }, () => { pages = null; });
}

// An engine that trapped is in an unknown state. It is started afresh, once.
async function orAfresh(work, forget) {
  try {
    return await work();
  } catch (error) {
    if (!(error instanceof WebAssembly.RuntimeError)) throw error;
    console.error("An engine trapped and is started afresh.", error);
    trapped.push(await Promise.allSettled([python, pages]));
    forget();
    return work();
  }
}

// A start that failed must not be remembered, or every later request would fail with it.
function thePython() {
  python ??= startPython().catch((error) => { python = null; throw error; });
  return python;
}

function thePages() {
  pages ??= startPages().catch((error) => { pages = null; throw error; });
  return pages;
}

function theBundle() {
  bundle ??= fetchBundle().catch((error) => { bundle = null; throw error; });
  return bundle;
}

// Its form is told in webapp/build.py. Gives { modules: [[path, bytes], ...], templates: {name: text} }.
async function fetchBundle() {
  const whole = await (await fetchAsset(bundleAddress)).arrayBuffer();
  let place = 4 + new DataView(whole).getUint32(0);
  const { modules, templates } = JSON.parse(new TextDecoder().decode(new Uint8Array(whole, 4, place - 4)));
  const placed = modules.map(([path, size]) => {
    place += size;
    return [path, new Uint8Array(whole, place - size, size)];
  });
  return { modules: placed, templates };
}

async function compiled(address) {
  return WebAssembly.compileStreaming(fetchAsset(address));
}

async function startPython() {
  const interpreter = await startInterpreter();
  interpreter.runPython("from core.door import call");
  return interpreter.globals.get("call");
}

/** Start a MicroPython that can import the core. */
export async function startInterpreter() {
  const [module, { modules }] = await Promise.all([compiled(PYTHON), theBundle()]);
  const interpreter = await loadMicroPython({
    heapsize: HEAP_BYTES,
    stdout: (line) => console.log(line),
    stderr: (line) => console.error(line),
    instantiateWasm(imports, done) {
      WebAssembly.instantiate(module, imports).then((instance) => done(instance, module));
      return {};
    },
  });
  for (const folder of ["/lib", "/lib/core", "/lib/core/screens"]) {
    if (!interpreter.FS.analyzePath(folder).exists) interpreter.FS.mkdir(folder);
  }
  for (const [path, code] of modules) interpreter.FS.writeFile("/lib/" + path, code, { canOwn: true });
  return interpreter;
}

async function startPages() {
  const [module, { templates }] = await Promise.all([compiled(MINIJINJA), theBundle()]);
  await startMiniJinja({ module_or_path: module });
  const environment = new Environment();
  const known = new Set();

  // A template is added when first used, with those that it names.
  function need(name) {
    if (known.has(name)) return;
    known.add(name);
    if (!(name in templates)) throw new Error(`There is no template ${name} on this device.`);
    for (const found of templates[name].matchAll(/\{%-?\s*(?:extends|include|import|from)\s+["']([^"']+)["']/g)) {
      need(found[1]);
    }
    environment.addTemplate(name, templates[name]);
  }

  // Made ready while the core is still loading: every page begins with it.
  need("base.html");
  return { environment, need };
}
