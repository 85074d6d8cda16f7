// Pictures, and the file of unsent entries.

import * as records from "./records.js";

/** Keep a picture that a page puts, once its name is proved to be the hash of its bytes. */
export async function putPhoto(request, sha256) {
  const bytes = await request.arrayBuffer();
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  if (hex(digest) !== sha256) return new Response("The picture does not match its name.", { status: 422 });
  await records.keepPhoto(sha256, new Blob([bytes], { type: "image/jpeg" }), "waiting");
  return new Response(null, { status: 201 });
}

/** A picture from this phone, or undefined. */
export async function keptPhoto(sha256) {
  const blob = await records.photo(sha256);
  return blob && new Response(blob, { headers: { "Content-Type": "image/jpeg" } });
}

/** The way out for a phone that can never reach its server again: a file that the office takes in. */
export async function unsentFile() {
  const [me, waiting, refused, hashes, refusedPhotos] = await Promise.all(
    [records.about(), records.waiting(), records.refused(), records.waitingPhotos(), records.refusedPhotos()]);
  const photos = [];
  for (const sha256 of [...hashes, ...refusedPhotos.map((row) => row.sha256)]) photos.push({ sha256, base64: base64(await (await records.photo(sha256)).arrayBuffer()) });
  const file = { form: "spanwright-unsent", version: 1, device: me.device,
                 events: [...waiting, ...refused.map((row) => row.event)], photos };
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
