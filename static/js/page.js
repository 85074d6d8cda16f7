// What every page does: keep typed text, keep the screen awake on a job, ask twice, print, and start the cameras.

import { restoreDrafts } from "./draft.js";
import { buzz } from "./signal.js";
import { SENTENCES } from "./words.js";
import "./photo.js";

const AWAKE_MINUTES = 15;

// ---- the screen stays on during a job, until nobody has touched it for a while ----

let lock = null;
let lastTouch = Date.now();

async function stayAwake() {
  const wanted = document.visibilityState === "visible" && Date.now() - lastTouch < AWAKE_MINUTES * 60_000;
  if (wanted && (!lock || lock.released)) {
    // Refused on low battery: the phone then sleeps as usual.
    lock = await navigator.wakeLock.request("screen").catch(() => null);
  } else if (!wanted) {
    lock?.release();
    lock = null;
  }
}

if (navigator.wakeLock && /^\/jobs\/[^/]+/.test(location.pathname)) {
  stayAwake();
  setInterval(stayAwake, 60_000);
  document.addEventListener("visibilitychange", stayAwake);
  document.addEventListener("pointerdown", () => { lastTouch = Date.now(); stayAwake(); }, { passive: true });
}

// ---- a second tap, in another place, before something is taken away ----

const agreed = new WeakSet();

function askTwice(button) {
  const dialog = document.createElement("dialog");
  const low = button.getBoundingClientRect().top > innerHeight / 2;
  dialog.className = low ? "confirm confirm-top" : "confirm confirm-bottom";
  const question = Object.assign(document.createElement("p"), { textContent: button.dataset.confirm, id: "confirm-question" });
  dialog.setAttribute("aria-labelledby", question.id);
  const row = Object.assign(document.createElement("div"), { className: "button-row" });
  const no = Object.assign(document.createElement("button"), { type: "button", className: "button", textContent: SENTENCES.keep });
  const yes = Object.assign(document.createElement("button"),
    { type: "button", className: "button button-stop", textContent: button.textContent.trim() });
  row.append(no, yes);
  dialog.append(question, row);
  document.body.append(dialog);
  no.addEventListener("click", () => dialog.close());
  yes.addEventListener("click", () => {
    dialog.close();
    agreed.add(button);
    button.click();
    agreed.delete(button);
  });
  dialog.addEventListener("close", () => { dialog.remove(); button.focus(); });
  dialog.showModal();
}

document.addEventListener("click", (event) => {
  const button = event.target.closest?.("[data-confirm]");
  if (!button || agreed.has(button)) return;
  event.preventDefault();
  event.stopPropagation();
  askTwice(button);
}, true);

document.addEventListener("click", (event) => {
  if (event.target.closest?.("[data-print]")) window.print();
});

// ---- sounds kept with a reading ----

document.addEventListener("click", async (event) => {
  const link = event.target.closest?.("[data-play]");
  if (!link) return;
  event.preventDefault();
  const trouble = link.closest("p").nextElementSibling;
  trouble.hidden = true;
  try {
    await (await import("./play.js")).playFile(link.href);
  } catch {
    trouble.textContent = SENTENCES.noSound;
    trouble.hidden = false;
  }
});

document.addEventListener("submit", () => buzz());

restoreDrafts();
if (document.querySelector("[data-scan]")) import("./scan.js");
