// Pictures and sounds, and the file of unsent entries.

import * as records from "./records.js";

// The first part of an address, and the kind of file behind it.
const TYPES = { photos: "image/jpeg", sounds: "audio/wav" };

/** Where the server takes and shows a file. */
export function addressOf(sha256, blob) {
  return `/${Object.keys(TYPES).find((folder) => TYPES[folder] === blob.type)}/${sha256}`;
}

/** Keep a file that a page puts, once its name is proved to be the hash of its bytes. */
export async function putFile(request, folder, sha256) {
  const bytes = await request.arrayBuffer();
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  if (hex(digest) !== sha256) return new Response("The file does not match its name.", { status: 422 });
  await records.keepFile(sha256, new Blob([bytes], { type: TYPES[folder] }), "waiting");
  return new Response(null, { status: 201 });
}

/** A file from this phone, or undefined. */
export async function keptFile(sha256) {
  const blob = await records.file(sha256);
  return blob && new Response(blob, { headers: { "Content-Type": blob.type } });
}

/** The way out for a phone that can never reach its server again: a file that the office takes in. */
export async function unsentFile() {
  const [me, waiting, refused, hashes, refusedFiles] = await Promise.all(
    [records.about(), records.waiting(), records.refused(), records.waitingFiles(), records.refusedFiles()]);
  const file = { form: "spanwright-unsent", version: 1, device: me.device,
                 events: [...waiting, ...refused.map((row) => row.event)], photos: [], sounds: [] };
  for (const sha256 of [...hashes, ...refusedFiles.map((row) => row.sha256)]) {
    const blob = await records.file(sha256);
    file[addressOf(sha256, blob).split("/")[1]].push({ sha256, base64: base64(await blob.arrayBuffer()) });
  }
  return new Response(JSON.stringify(file), { headers: { "Content-Type": "application/json", "Cache-Control": "no-store" } });
}

function hex(bytes) {
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

function base64(buffer) {
  const bytes = new Uint8Array(buffer);
  let text = "";
  // Spread in pieces: one call with a million arguments overflows the stack.
  for (let i = 0; i < bytes.length; i += 0x8000) text += String.fromCharCode(...bytes.subarray(i, i + 0x8000));
  return btoa(text);
}
