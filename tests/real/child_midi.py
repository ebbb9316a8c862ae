"""MIDI through JACK: a sender with known times and our own driver, in one process.

``python -m tests.real.child_midi`` opens a sender's virtual port, opens it as a player's keyboard
would be opened, sends notes, then takes the sender away; prints what came as JSON.
"""

import json
import time

import numpy as np
import rtmidi

from rhythmtrain.devices.midi_in import open_midi
from rhythmtrain.devices.midi_ports import midi_names
from rhythmtrain.errors import DeviceError

API = "UNIX_JACK"
NOTES = 60
WAIT_S, LAST_S = 30.0, 3.0


def main() -> None:
    """Send, listen, compare, unplug."""
    sender = rtmidi.MidiOut(rtmidi.API_UNIX_JACK, name="pad")
    sender.open_virtual_port("out")
    end_s = time.perf_counter() + WAIT_S
    while not any("pad" in name for name in midi_names(API)) and time.perf_counter() < end_s:
        time.sleep(0.05)
    sent: list[float] = []
    chance = np.random.default_rng(1)
    with open_midi("pad", api=API) as source:
        time.sleep(0.2)
        taps = source.poll()
        for number in range(NOTES):
            taps += source.poll(chance.uniform(0.01, 0.03))
            time.sleep(0.01)
            sent.append(time.perf_counter())
            note = 60 + number // 2 % 12
            sender.send_message([0x90, note, 0 if number % 2 else 64])
        end_s = time.perf_counter() + LAST_S
        while len(taps) < NOTES and time.perf_counter() < end_s:
            taps += source.poll(0.05)
        sender.close_port()
        sender.delete()
        end_s = time.perf_counter() + WAIT_S
        while source.ended is None and time.perf_counter() < end_s:
            source.poll(0.05)
    ended = source.ended
    print(json.dumps({
        "late_ms": [(tap.time_s - at) * 1e3 for tap, at in zip(taps, sent, strict=False)],
        "whats": [tap.what for tap in taps],
        "velocities": [tap.velocity for tap in taps],
        "releases": [tap.released for tap in taps],
        "ended": ended.how.value if ended else None,
        "reason": ended.reason if ended else None,
        "missing": _missing(),
        "names": midi_names(API),
    }))  # fmt: skip


def _missing() -> str:
    try:
        open_midi("pad", api=API)
    except DeviceError as error:
        return str(error)
    return ""


if __name__ == "__main__":
    main()
