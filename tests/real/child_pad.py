"""A pad on a JACK server: for every line that it reads it sends a note, and its release.

``python -m tests.real.child_pad`` says "ready" when it is plugged in, and after each note when it
was sent (``time.perf_counter`` is one clock for all processes on Linux).
"""

import sys
import time

import rtmidi

NOTE_ON, NOTE, STRENGTH = 0x90, 38, 90
HELD_S = 0.03


def main() -> None:
    """Plug in, and play what is asked for."""
    pad = rtmidi.MidiOut(rtmidi.API_UNIX_JACK, name="pad")
    pad.open_virtual_port("out")
    print("ready", flush=True)
    for _ in sys.stdin:
        sent_s = time.perf_counter()
        pad.send_message([NOTE_ON, NOTE, STRENGTH])
        time.sleep(HELD_S)
        pad.send_message([NOTE_ON, NOTE, 0])
        print(sent_s, flush=True)
    pad.close_port()
    pad.delete()


if __name__ == "__main__":
    main()
