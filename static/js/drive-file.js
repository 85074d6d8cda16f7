// Reads a chosen drive file into the form's text, where the core reads it: nothing is sent from here.

import { SENTENCES } from "./words.js";

const input = document.querySelector("[data-drive-file]");
const text = document.getElementById(input.dataset.driveFile);
const problem = document.getElementById(input.id + "-error");

function say(sentence) {
  problem.textContent = sentence;
  problem.hidden = !sentence;
}

// A sign takes up to four bytes; what is larger still would only stall the page.
async function take(file) {
  if (file.size > 4 * Number(input.dataset.most)) return SENTENCES.driveTooLarge;
  try {
    text.value = await file.text();
  } catch {
    return SENTENCES.driveUnread;
  }
  text.dispatchEvent(new Event("input", { bubbles: true }));
  return "";
}

input.addEventListener("change", async () => {
  if (input.files.length) say(await take(input.files[0]));
});
