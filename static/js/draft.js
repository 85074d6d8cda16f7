// Keeps what was typed in a form until a good POST, across a reload or a tab that the phone threw away.
//
// A draft belongs to the form's action and to the form as it was served: when the served values differ,
// the record has moved on and the draft is left alone. PINs and passwords are never kept.

import { SENTENCES } from "./words.js";

const KEPT = ["text", "search", "tel", "number", "textarea", "radio", "checkbox", "select-one"];
const SENT = "sent";

const isSwitch = (field) => field.type === "radio" || field.type === "checkbox";

function fieldsOf(form) {
  return [...form.elements].filter((f) => f.name && KEPT.includes(f.type) && f.name !== "pin" && !f.matches(".input-pin"));
}

function served(field) {
  if (isSwitch(field)) return field.defaultChecked;
  if (field.type !== "select-one") return field.defaultValue;
  const chosen = [...field.options].find((option) => option.defaultSelected) ?? field.options[0];
  return chosen?.value ?? "";
}

function setField(field, value) {
  if (isSwitch(field)) field.checked = value;
  else field.value = value;
}

const formsToKeep = () => [...document.forms].filter((form) => form.method === "post");

// Forms with one action on one page are told apart by their order.
function keyOf(form) {
  const same = formsToKeep().filter((other) => other.action === form.action);
  return `draft ${new URL(form.action).pathname} ${same.indexOf(form)}`;
}

function shape(form) {
  return JSON.stringify(fieldsOf(form).map((field) => [field.name, field.value && isSwitch(field) ? field.value : "", served(field)]));
}

function save(form) {
  const values = fieldsOf(form).map((field) => (isSwitch(field) ? field.checked : field.value));
  try {
    sessionStorage.setItem(keyOf(form), JSON.stringify({ shape: shape(form), values }));
  } catch {
    // A full or forbidden storage costs the draft only; the form itself still works.
  }
}

function restore(form) {
  const draft = JSON.parse(sessionStorage.getItem(keyOf(form)) ?? "null");
  if (!draft || draft.shape !== shape(form)) return;
  const fields = fieldsOf(form);
  const changed = fields.filter((field, i) => draft.values[i] !== served(field));
  if (!changed.length) return;
  fields.forEach((field, i) => setField(field, draft.values[i]));
  changed.forEach((field) => field.dispatchEvent(new Event("input", { bubbles: true })));
  const note = Object.assign(document.createElement("p"), { className: "quiet", textContent: SENTENCES.restored });
  note.setAttribute("role", "status");
  form.prepend(note);
}

// The page that answers a POST names the form's page as its referrer: a redirect there means the POST was good,
// and a 422 brings the typed values itself. Without an answer, or after a server error, the draft stays.
function forgetSent() {
  const sent = JSON.parse(sessionStorage.getItem(SENT) ?? "null");
  sessionStorage.removeItem(SENT);
  const visit = performance.getEntriesByType("navigation")[0];
  const status = visit?.responseStatus ?? 200; // Not told by older browsers.
  const answers = sent && document.referrer === sent.page && visit?.type !== "back_forward";
  if (answers && (status < 400 || status === 422)) sessionStorage.removeItem(sent.key);
}

export function restoreDrafts() {
  try {
    forgetSent();
    formsToKeep().forEach(restore);
  } catch {
    return; // Storage is forbidden here.
  }
  document.addEventListener("input", (event) => {
    const form = event.target.form;
    if (form?.method === "post") save(form);
  });
  document.addEventListener("submit", (event) => {
    if (event.target.method !== "post") return;
    const page = location.href.split("#")[0];
    sessionStorage.setItem(SENT, JSON.stringify({ page, key: keyOf(event.target) }));
  });
}
