// The microphone as the audio clock hears it: samples in batches, each with its frame, kept until the
// program has them.

import { bring, leaveSound } from "../ask.js";
import { audio } from "../sound/player.js";

// The browser's own clearing cuts claps away; the program takes the loudspeaker out itself.
const PLAIN = { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: 1 };
const REFUSED = "The microphone was not allowed, or there is none: allow it for this page in the browser’s address bar, or plug one in; or clap on keys.";
const AWAY = "The microphone that you chose is not plugged in: plug it in, or choose another under “How you clap”.";
// So often, that little is left when the page closes, also where the program takes its time.
const SEND_EVERY_MS = 100;

export class Microphone {
  constructor(device = "") {
    this.device = device;
    this.batches = [];
  }

  // Opens it; says in one sentence why it cannot be heard.  `onlost` is told when it was unplugged.  `device` is
  // the one that was chosen by its name, if any.
  async open(onlost) {
    const sounds = audio();
    await sounds.audioWorklet.addModule("/static/listening/recorder.js");
    try {
      this.stream = await navigator.mediaDevices.getUserMedia({ audio: this.device ? { ...PLAIN, deviceId: { exact: this.device } } : PLAIN });
    } catch (error) {
      throw new Error(this.device && error.name !== "NotAllowedError" ? AWAY : REFUSED);
    }
    this.stream.getTracks().forEach((each) => each.addEventListener("ended", onlost));
    const input = sounds.createMediaStreamSource(this.stream);
    this.recorder = new AudioWorkletNode(sounds, "recorder", { numberOfInputs: 1, numberOfOutputs: 0 });
    this.recorder.port.onmessage = (event) => this.batches.push(event.data);
    input.connect(this.recorder);
  }

  // From now on what is heard belongs to `take`.
  begin(take) {
    this.take = take;
    this.sending = setInterval(() => this.sendSome(), SEND_EVERY_MS);
  }

  close() {
    clearInterval(this.sending);
    if (this.stream) this.stream.getTracks().forEach((each) => each.stop());
    if (this.recorder) this.recorder.disconnect();
  }

  // One request at a time; what the program did not take is here still, and goes with the next.
  sendSome() {
    if (!this.underway) this.underway = this.send().catch(() => null).finally(() => { this.underway = null; });
  }

  // Sends what is left; says in one sentence why it could not.
  async finish() {
    await this.underway;
    await this.send();
  }

  // A batch stays here until the program has it; it may arrive twice, and its frame says where it belongs.
  async send() {
    for (const { frame, samples, batches } of runsOf(this.batches)) {
      await bring(`/api/take/${this.take}/sound`, { frame }, samples.buffer);
      this.batches = this.batches.filter((each) => !batches.includes(each));
    }
  }

  // While the page closes: what is left, with `parts` of the take, as the farewell that ends it.  False
  // where that could not be sent.
  leave(parts) {
    return leaveSound(`/api/take/${this.take}/end`, { stopped: true }, { parts }, runsOf(this.batches));
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
    const samples = new Int16Array(run.reduce((sum, each) => sum + each.samples.length, 0));
    run.forEach((each) => samples.set(each.samples, each.frame - run[0].frame));
    return { frame: run[0].frame, samples, batches: run };
  });
}
