// Hands the page the microphone's samples as they are, fifty blocks a second. Runs on the browser's audio thread.

class ListenTap extends AudioWorkletProcessor {
  block = new Float32Array(Math.round(sampleRate / 50));
  filled = 0;

  process([input]) {
    for (const sample of input[0] ?? []) {
      this.block[this.filled++] = sample;
      if (this.filled === this.block.length) {
        this.port.postMessage(this.block);
        this.filled = 0;
      }
    }
    return true;
  }
}

registerProcessor("listen-tap", ListenTap);
