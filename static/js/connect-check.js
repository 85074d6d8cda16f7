// Checks that this phone can work without signal, and says in words what is missing.

import { registration } from "./register.js";

const WORKER_SECONDS = 20;

const checks = {
  secure() {
    return window.isSecureContext
      ? ok("The connection is trusted.")
      : bad("The phone does not trust the workshop yet. Go back and do both steps: install the certificate, then switch it to trusted.");
  },

  async worker() {
    if (!window.isSecureContext) return bad("Needs the trusted connection first.");
    if (!("serviceWorker" in navigator)) {
      return bad("This browser cannot keep the app on the phone. Use the browser that came with the phone, not a private window.");
    }
    const given = registration.then(() => navigator.serviceWorker.ready);
    const late = new Promise((done) => setTimeout(done, WORKER_SECONDS * 1000, null));
    try {
      return await Promise.race([given, late])
        ? ok("The app is on this phone and answers without signal.")
        : bad("The app is still being fetched. Stay in reach of the workshop network and check again.");
    } catch (error) {
      return error.name === "SecurityError"
        ? bad("The phone does not trust the certificate enough. It is most likely installed but not switched to trusted: go back to the steps.")
        : bad(`The server did not hand over the app (${error.name}). Check again; if it stays so, tell whoever looks after the server.`);
    }
  },

  async storage() {
    if (!navigator.storage?.persist) return warn("The phone does not say whether it keeps records for good. Send often, and install the app to the home screen.");
    const kept = await navigator.storage.persisted() || await navigator.storage.persist();
    return kept
      ? ok("The phone keeps unsent records for good.")
      : warn("The phone may clear records when it runs short of space. Installing the app to the home screen helps; then check again.");
  },

  camera: () => device("videoinput", "camera", "You can still add photos from the phone's own camera and type the code on the tag."),

  microphone: () => device("audioinput", "microphone", "You can still type a frequency that another meter shows."),

  installed() {
    const standing = matchMedia("(display-mode: standalone)").matches || navigator.standalone === true;
    return standing
      ? ok("You are in the installed app.")
      : warn("Not installed to the home screen yet: the steps are below.");
  },
};

async function device(kind, word, otherwise) {
  if (!navigator.mediaDevices?.getUserMedia) return bad(`The browser offers no ${word} here. ${otherwise}`);
  const found = (await navigator.mediaDevices.enumerateDevices()).some((d) => d.kind === kind);
  return found
    ? ok(`There is a ${word}. The phone asks for permission when it is first used.`)
    : warn(`No ${word} was found. ${otherwise}`);
}

function ok(text) { return { state: "ok", word: "Ready", text }; }
function warn(text) { return { state: "warn", word: "Note", text }; }
function bad(text) { return { state: "bad", word: "Missing", text }; }

async function run() {
  const results = await Promise.all([...document.querySelectorAll("[data-check]")].map(async (row) => {
    const result = await Promise.resolve().then(checks[row.dataset.check])
      .catch((error) => bad(`Could not be checked (${error.message}).`));
    row.dataset.state = result.state;
    row.querySelector("[data-word]").textContent = result.word;
    row.querySelector("[data-text]").textContent = result.text;
    return result.state;
  }));
  const missing = results.filter((state) => state === "bad").length;
  document.querySelector("[data-verdict]").textContent = missing === 0
    ? "This phone is ready."
    : missing === 1 ? "One thing is missing." : `${missing} things are missing.`;
  document.documentElement.dataset.checked = missing === 0 ? "ready" : "missing";
}

document.querySelector("[data-again]").addEventListener("click", () => location.reload());
run();
