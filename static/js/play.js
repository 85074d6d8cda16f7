// Plays a sound, loud enough to hear: what was just heard, or what is kept with a reading.

let player = null;

export function stopPlaying() {
  player?.close();
  player = null;
}

/**
 * Play what `give` returns, one sound at a time.
 *
 * @param give called with the AudioContext; returns an AudioBuffer or a promise of one
 */
export async function play(give) {
  stopPlaying();
  // Before anything is waited for: some browsers let sound begin only at the tap itself.
  const context = player = new AudioContext();
  context.resume();
  const buffer = await give(context);
  if (player !== context) return;
  const loudest = buffer.getChannelData(0).reduce((most, sample) => Math.max(most, Math.abs(sample)), 1e-4);
  const source = new AudioBufferSourceNode(context, { buffer });
  source.connect(new GainNode(context, { gain: 0.8 / loudest })).connect(context.destination);
  source.addEventListener("ended", () => { if (player === context) stopPlaying(); });
  source.start();
}

/** Play the sound that a link leads to; throws when it is neither here nor within reach. */
export function playFile(address) {
  return play(async (context) => {
    const answer = await fetch(address);
    if (!answer.ok) throw new Error(`the sound was answered with ${answer.status}`);
    return context.decodeAudioData(await answer.arrayBuffer());
  });
}
