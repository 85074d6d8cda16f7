// The sounds behind the readings of a page, until the reading is saved. They wait in the tab's own storage, since questions
// about a reading load the page anew; nothing is kept on the phone or sent before the reading is saved with them.

import { attach } from "./attach.js";

const STORE = "takes";

/** A WAV file of 16-bit samples in one channel: what the server takes as a sound (webapp/sounds.py). */
export function wav(samples, rate) {
  const view = new DataView(new ArrayBuffer(44 + 2 * samples.length));
  const letters = (at, text) => [...text].forEach((letter, i) => view.setUint8(at + i, letter.charCodeAt(0)));
  const whole = Math.round(rate);
  letters(0, "RIFF");
  view.setUint32(4, 36 + 2 * samples.length, true);
  letters(8, "WAVEfmt ");
  view.setUint32(16, 16, true);
  view.setUint16(20, 1, true);
  view.setUint16(22, 1, true);
  view.setUint32(24, whole, true);
  view.setUint32(28, 2 * whole, true);
  view.setUint16(32, 2, true);
  view.setUint16(34, 16, true);
  letters(36, "data");
  view.setUint32(40, 2 * samples.length, true);
  samples.forEach((sample, i) => view.setInt16(44 + 2 * i, sample, true));
  return view.buffer;
}

function base64(buffer) {
  let text = "";
  for (const byte of new Uint8Array(buffer)) text += String.fromCharCode(byte);
  return btoa(text);
}

const fromBase64 = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));

/** Takes of one reading: [[text of the value heard, WAV file in base64], ...]. */
export class Takes {
  /** page: names the reading; the takes of another one are let go. values: the readings on the page, as texts. */
  constructor(page, values) {
    this.page = page;
    this.all = stored(page).filter(([text]) => values.includes(text));
    this.write();
  }

  add(text, { samples, rate }) {
    this.all.push([text, base64(wav(samples, rate))]);
    this.write();
  }

  write() {
    try {
      sessionStorage.setItem(STORE, JSON.stringify({ page: this.page, all: this.all }));
    } catch {
      // A full or forbidden storage costs the sounds on the next load only.
    }
  }

  /** The takes of these readings, each reading once. */
  of(values) {
    const left = [...values];
    return this.all.filter(([text]) => {
      const at = left.indexOf(text);
      if (at >= 0) left.splice(at, 1);
      return at >= 0;
    });
  }

  /** Keep the sounds of these readings; returns what the form says of each: the reading and its sound's name. Throws NotKept. */
  async keep(values) {
    const said = [];
    for (const [text, file] of this.of(values)) {
      said.push(`${text} ${await attach("sounds", new Blob([fromBase64(file)], { type: "audio/wav" }))}`);
    }
    return said;
  }
}

function stored(page) {
  try {
    const kept = JSON.parse(sessionStorage.getItem(STORE) ?? "null");
    return kept?.page === page ? kept.all : [];
  } catch {
    return [];
  }
}
