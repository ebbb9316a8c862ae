// The microphone's samples of 16 bits, in batches, each with the frame of the audio context at which it
// begins.  Batches are short: what is not full yet when the page closes is lost.

const BATCH = 1024;
const LOUDEST = 32767;

class Recorder extends AudioWorkletProcessor {
  constructor() {
    super();
    this.batch = new Int16Array(BATCH);
    this.filled = 0;
    this.frame = 0;
  }

  process(inputs) {
    const channel = inputs[0][0];
    // Where nothing comes for a while, what comes next belongs to a frame further on.
    if (!channel) {
      this.give();
      return true;
    }
    if (!this.filled) this.frame = currentFrame;
    for (const sample of channel) {
      this.batch[this.filled] = Math.round(Math.min(1, Math.max(-1, sample)) * LOUDEST);
      this.filled += 1;
    }
    if (this.filled === BATCH) this.give();
    return true;
  }

  give() {
    if (this.filled) this.port.postMessage({ frame: this.frame, samples: this.batch.slice(0, this.filled) });
    this.filled = 0;
  }
}

registerProcessor("recorder", Recorder);
