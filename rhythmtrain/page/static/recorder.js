// The microphone's samples, in batches, each with the frame of the audio context at which it begins.

const BATCH = 4096;

class Recorder extends AudioWorkletProcessor {
  constructor() {
    super();
    this.batch = new Float32Array(BATCH);
    this.filled = 0;
    this.frame = 0;
  }

  process(inputs) {
    const channel = inputs[0][0];
    if (!channel) return true;
    if (!this.filled) this.frame = currentFrame;
    this.batch.set(channel, this.filled);
    this.filled += channel.length;
    if (this.filled === BATCH) {
      this.port.postMessage({ frame: this.frame, samples: this.batch.slice() });
      this.filled = 0;
    }
    return true;
  }
}

registerProcessor("recorder", Recorder);
