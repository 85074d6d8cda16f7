// The page's side of sync: asks for it, shows what is not sent yet, and saves unsent entries to a file.

// Browsers stop a worker that was idle for about 30 s; asking sooner keeps it awake while a page is looked at.
const EVERY_MS = 20000;
const PROBLEMS = {
  "signed-out": "Sign in to send",
  "revoked": "This phone was switched off by the office",
  "full": "Storage full",
};

const channel = new BroadcastChannel("spanwright");

async function toWorker(message) {
  const found = await navigator.serviceWorker?.ready;
  found?.active?.postMessage(message);
}

function words(status) {
  const parts = [];
  if (status.waiting) parts.push(count(status.waiting, "entry", "entries"));
  if (status.photos) parts.push(count(status.photos, "photo", "photos"));
  if (status.sounds) parts.push(count(status.sounds, "sound", "sounds"));
  let text = parts.length ? parts.join(", ").replace(/, ([^,]*)$/, " and $1") + " not sent yet" : "All sent";
  if (status.refused) text += ", " + count(status.refused, "refused", "refused");
  if (status.refused_photos) text += ", " + count(status.refused_photos, "photo", "photos") + " refused";
  if (status.refused_sounds) text += ", " + count(status.refused_sounds, "sound", "sounds") + " refused";
  return PROBLEMS[status.problem] ? text + ". " + PROBLEMS[status.problem] : text;
}

function count(number, one, many) {
  return `${number} ${number === 1 ? one : many}`;
}

function show(status) {
  if (!status.enrolled) return;
  const place = document.getElementById("sync");
  if (!place) return;
  const last = status.last_sync ? new Date(status.last_sync).toLocaleString() : "never";
  place.dataset.state = status.refused || status.refused_photos || status.refused_sounds ? "refused" : status.problem || (status.waiting + status.photos + (status.sounds ?? 0) ? "waiting" : "sent");
  place.title = "Last contact with the workshop: " + last;
  const text = words(status);
  const line = place.querySelector("[data-sync-words]");
  // A screen reader speaks a change; the same words again would only disturb.
  if (line.textContent !== text) line.textContent = text;
  for (const element of document.querySelectorAll("[data-last-contact]")) element.textContent = last;
}

channel.addEventListener("message", ({ data }) => {
  if (data.kind === "status") show(data);
  if (data.kind === "changed") document.body.dispatchEvent(new CustomEvent("spanwright:changed", { detail: data }));
});

async function saveUnsent() {
  const answer = await fetch("/outbox/unsent.json");
  const link = document.createElement("a");
  link.href = URL.createObjectURL(await answer.blob());
  link.download = `spanwright-unsent-${new Date().toISOString().slice(0, 10)}.json`;
  link.click();
  setTimeout(URL.revokeObjectURL, 60000, link.href);
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-sync-now], [data-send-again], [data-send-photo-again], [data-save-unsent]");
  if (!button) return;
  event.preventDefault();
  if ("syncNow" in button.dataset) toWorker({ kind: "sync", value: "by hand" });
  if ("sendAgain" in button.dataset) toWorker({ kind: "send-again", id: button.dataset.sendAgain });
  if ("sendPhotoAgain" in button.dataset) toWorker({ kind: "send-photo-again", id: button.dataset.sendPhotoAgain });
  if ("saveUnsent" in button.dataset) saveUnsent();
});

// Browsers may clear a site's records when space runs short, unless they promised not to.
async function askToKeep() {
  if (!navigator.storage?.persist) return;
  const kept = await navigator.storage.persisted() || await navigator.storage.persist();
  toWorker({ kind: "persisted", value: kept });
  for (const element of document.querySelectorAll("[data-kept]")) {
    element.textContent = kept ? "This phone keeps unsent entries for good."
                               : "This phone may clear unsent entries when it runs short of space: send often.";
  }
}

function syncIfSeen() {
  if (document.visibilityState === "visible") toWorker({ kind: "sync" });
}

document.addEventListener("visibilitychange", syncIfSeen);
window.addEventListener("online", syncIfSeen);
setInterval(syncIfSeen, EVERY_MS);
toWorker({ kind: "status", value: performance.timeOrigin });
syncIfSeen();
askToKeep();
