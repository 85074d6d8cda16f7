// Times are kept and served in UTC; the page shows them in the device's own zone.

const shape = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", year: "numeric", hour: "2-digit", minute: "2-digit" });

function localise() {
  for (const element of document.querySelectorAll("time[datetime]:not([data-local])")) {
    const at = new Date(element.dateTime);
    if (Number.isNaN(at.getTime())) continue;
    element.title = element.textContent;
    element.textContent = shape.format(at);
    element.dataset.local = "";
  }
}

localise();
// Fragments bring times of their own.
new MutationObserver(localise).observe(document.body, { childList: true, subtree: true });
