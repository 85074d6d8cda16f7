// Registers the worker and offers a new version. The page reloads only once the new worker controls it.

export const registration = "serviceWorker" in navigator
  ? navigator.serviceWorker.register("/sw.js", { type: "module", scope: "/", updateViaCache: "imports" })
  : Promise.resolve(null);

const VERSION_CHECK_MS = 10 * 60 * 1000;
const wasControlled = Boolean(navigator.serviceWorker?.controller);

function offer(worker) {
  if (document.getElementById("new-version")) return;
  const bar = document.createElement("div");
  bar.id = "new-version";
  bar.className = "new-version";
  bar.setAttribute("role", "status");
  const button = document.createElement("button");
  button.type = "button";
  button.className = "button";
  button.textContent = "New version ready: use it now";
  button.addEventListener("click", () => {
    button.disabled = true;
    worker.postMessage({ kind: "take-over" });
  });
  bar.append(button);
  document.body.prepend(bar);
}

function watch(worker) {
  worker.addEventListener("statechange", () => {
    if (worker.state === "installed" && wasControlled) offer(worker);
  });
}

async function lookForNew(found) {
  try {
    const { version } = await (await fetch("/version.json", { cache: "no-store" })).json();
    if (version !== document.body.dataset.build) await found.update();
  } catch {
    // No network: the version at hand goes on.
  }
}

async function begin() {
  const found = await registration;
  if (!found) return;
  // The first worker takes a page over without changing it; only a later one brings another version.
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    if (wasControlled) location.reload();
  });
  if (found.waiting && wasControlled) offer(found.waiting);
  if (found.installing) watch(found.installing);
  found.addEventListener("updatefound", () => watch(found.installing));
  lookForNew(found);
  setInterval(lookForNew, VERSION_CHECK_MS, found);
}

begin().catch((error) => console.error("The worker was not registered.", error));
