// Notes on the MIDI keyboards and pads that this computer has (W3C Web MIDI), with the time of their
// message.  All inputs are heard, or those of one name; a key of one does not let go the same key of another.
// What is let go while the pedal is down sounds, and is told to be let go, when the pedal comes up.

const NOTE_OFF = 0x80;
const NOTE_ON = 0x90;
const CONTROL = 0xb0;
const PEDAL = 64;
const PEDAL_DOWN = 64;
const NONE = "No MIDI keyboard or pad is connected: plug it in and try again.";
const MISSING = "This browser hears no MIDI: clap on keys, or open the page in another browser.";
const REFUSED = "MIDI was not allowed: allow it for this page in the browser’s address bar, then try again; or clap on keys.";
const FAILED = "The MIDI of this computer could not be opened: plug the device in, close what else uses it, start the browser again; or clap on keys.";
const NOT_ALLOWED = new Set(["NotAllowedError", "SecurityError"]);

const nameOf = (input) => input.name || "a device without a name";
const away = (name) => `${name} is not plugged in: plug it in, or choose another under “Which MIDI device”; or clap on keys.`;

// The names of what is plugged in; says in one sentence why there are none.
export async function midiNames() {
  const midi = new MidiIn();
  await midi.find();
  return [...new Set(midi.plugged().map(nameOf))];
}

export class MidiIn {
  // `device` is the name of the one that was chosen, "" for every one.
  constructor(device = "") {
    this.device = device;
  }

  // Asks the browser for what is plugged in.
  async find() {
    if (!navigator.requestMIDIAccess) throw new Error(MISSING);
    try {
      this.access = await navigator.requestMIDIAccess();
    } catch (error) {
      throw new Error(NOT_ALLOWED.has(error.name) ? REFUSED : FAILED);
    }
    if (!this.plugged().length) throw new Error(NONE);
  }

  // Opens what is to be heard; says in one sentence why it cannot be heard.
  async open() {
    await this.find();
    const wanted = this.wanted();
    if (!wanted.length) throw new Error(away(this.device));
    const opened = await Promise.allSettled(wanted.map((input) => input.open()));
    if (opened.every((each) => each.status === "rejected")) throw new Error(FAILED);
  }

  plugged() {
    return [...this.access.inputs.values()].filter((input) => input.state === "connected");
  }

  isWanted(input) {
    return this.device === "" || nameOf(input) === this.device;
  }

  wanted() {
    return this.plugged().filter((input) => this.isWanted(input));
  }

  // `ontap` is told every note: its time in milliseconds of the page's clock, what it is, how hard, null
  // when it is let go; `onlost` which device was unplugged, and whether another is left.
  listen({ ontap, onlost }) {
    this.heard = new Map();
    this.many = 0;
    this.ontap = ontap;
    this.onstate = (event) => {
      if (event.port.type !== "input" || !this.isWanted(event.port)) return;
      if (event.port.state === "connected") this.hear(event.port);
      else if (this.forget(event.port)) onlost(event.port.name || "The MIDI device", this.heard.size > 0);
    };
    this.wanted().forEach((input) => this.hear(input));
    this.access.addEventListener("statechange", this.onstate);
  }

  hear(input) {
    if (this.heard.has(input.id)) return;
    this.many += 1;
    const number = this.many;
    const pedals = new Map();
    const onmessage = (event) => this.come(event, number, pedals);
    this.heard.set(input.id, { input, onmessage });
    input.addEventListener("midimessage", onmessage);
    input.open().catch(() => this.forget(input));
  }

  forget(input) {
    const known = this.heard.get(input.id);
    if (!known) return false;
    known.input.removeEventListener("midimessage", known.onmessage);
    this.heard.delete(input.id);
    return true;
  }

  // `pedals` holds, for every channel whose pedal is down, the notes that only it holds.
  come({ data: [status, what, value], timeStamp }, number, pedals) {
    const kind = status & 0xf0;
    const channel = status & 0x0f;
    const held = pedals.get(channel);
    const letGo = (note) => this.ontap(timeStamp, `${number} ${note}`, null);
    if (kind === CONTROL && what === PEDAL) {
      if (value < PEDAL_DOWN) {
        pedals.delete(channel);
        if (held) held.forEach(letGo);
      } else if (!held) pedals.set(channel, new Set());
    } else if (kind === NOTE_ON && value > 0) {
      if (held) held.delete(what);
      this.ontap(timeStamp, `${number} ${what}`, value);
    } else if (kind === NOTE_ON || kind === NOTE_OFF) {
      if (held) held.add(what);
      else letGo(what);
    }
  }

  close() {
    if (!this.heard) return;
    this.access.removeEventListener("statechange", this.onstate);
    for (const { input } of [...this.heard.values()]) {
      this.forget(input);
      input.close();
    }
  }
}
