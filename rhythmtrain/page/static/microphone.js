// The microphone as the audio clock hears it: samples in batches, each with its frame, kept until the
// program has them.

import { bring, leaveSound } from "./ask.js";
import { audio } from "./player.js";

// The browser's own clearing cuts claps away; the program takes the loudspeaker out itself.
const PLAIN = { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: 1 };
const REFUSED = "The microphone was not allowed, or there is none: allow it for this page in the browser’s address bar, or plug one in; or clap on keys.";

export class Microphone {
  constructor() {
    this.batches = [];
  }

  // Opens it; says in one sentence why it cannot be heard.  `onlost` is told when it was unplugged.
  async open(onlost) {
    const sounds = audio();
    await sounds.audioWorklet.addModule("/static/recorder.js");
    try {
      this.stream = await navigator.mediaDevices.getUserMedia({ audio: PLAIN });
    } catch {
      throw new Error(REFUSED);
    }
    this.stream.getTracks().forEach((each) => each.addEventListener("ended", onlost));
    const input = sounds.createMediaStreamSource(this.stream);
    this.recorder = new AudioWorkletNode(sounds, "recorder", { numberOfInputs: 1, numberOfOutputs: 0 });
    this.recorder.port.onmessage = (event) => this.batches.push(event.data);
    input.connect(this.recorder);
  }

  close() {
    if (this.stream) this.stream.getTracks().forEach((each) => each.stop());
    if (this.recorder) this.recorder.disconnect();
  }

  async send(take) {
    for (const { frame, samples, batches } of runsOf(this.batches)) {
      await bring(`/api/take/${take}/sound`, { frame }, samples.buffer);
      this.batches = this.batches.filter((each) => !batches.includes(each));
    }
  }

  // While the page closes: what is left goes along, the last of it as the farewell that ends the take.
  // False where nothing was left, or it was too much for one farewell.
  leave(take) {
    const runs = runsOf(this.batches);
    const last = runs.pop();
    runs.forEach(({ frame, samples }) => leaveSound(`/api/take/${take}/sound`, { frame }, samples));
    return Boolean(last) && leaveSound(`/api/take/${take}/end`, { stopped: true, frame: last.frame }, last.samples);
  }
}

// Batches that follow each other without a gap, as one run each, with the batches that went into it.
function runsOf(batches) {
  const runs = [];
  let next = null;
  for (const each of batches) {
    if (each.frame === next) runs[runs.length - 1].push(each);
    else runs.push([each]);
    next = each.frame + each.samples.length;
  }
  return runs.map((run) => {
    const samples = new Float32Array(run.reduce((sum, each) => sum + each.samples.length, 0));
    run.forEach((each) => samples.set(each.samples, each.frame - run[0].frame));
    return { frame: run[0].frame, samples, batches: run };
  });
}
