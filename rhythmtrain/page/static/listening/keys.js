// Which keys are claps: all but those that go to another place, change another key, or stop.

const NOT_CLAPS = new Set(["Tab", "Escape", "Shift", "Control", "Alt", "AltGraph", "Meta", "CapsLock", "OS"]);

export function isClap(event) {
  return !NOT_CLAPS.has(event.key) && !event.ctrlKey && !event.metaKey && !event.altKey;
}
