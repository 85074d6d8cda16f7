// Keeps a file that an entry will name, under the hash of its bytes: on the phone, or at the server where there is no worker.

const PUT_SECONDS = 60;

/** A file that is not kept. `code` is a key of words.js: insecure, noAnswer, full, signIn or refused. */
export class NotKept extends Error {
  constructor(code) {
    super(code);
    this.code = code;
  }
}

/**
 * Keep a file.
 *
 * @param folder of its address: "photos" or "sounds"
 * @param blob   the file
 * @returns its name, the SHA-256 of its bytes; throws NotKept
 */
export async function attach(folder, blob) {
  const name = await hashOf(blob);
  let answer;
  try {
    answer = await fetch(`/${folder}/${name}`, {
      method: "PUT", body: blob, headers: { "Content-Type": blob.type }, signal: AbortSignal.timeout(PUT_SECONDS * 1000),
    });
  } catch {
    throw new NotKept("noAnswer");
  }
  if (answer.ok) return name;
  if (answer.status === 507) throw new NotKept("full");
  if (answer.status === 401 || answer.status === 403) throw new NotKept("signIn");
  throw new NotKept(answer.status >= 500 ? "noAnswer" : "refused");
}

async function hashOf(blob) {
  if (!crypto.subtle) throw new NotKept("insecure");
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", await blob.arrayBuffer()));
  return [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}
