"""A track through simpleaudio, in a process of its own; prints what came of it as JSON.

``python -m tests.real.child_simple``.  The track holds one click at every time of ``CLICKS_S``.
"""

import json
import sys
import time

import numpy as np

from rhythmtrain.devices.sound_simple import SimpleOutput
from rhythmtrain.errors import DeviceError, MissingPartError

RATE = 44_100
CLICKS_S = (0.5, 0.83, 1.4, 1.91)
CLICK = 0.8 * np.hanning(64) * np.sin(2 * np.pi * 3000 * np.arange(64) / RATE)
LONGEST_S = 20.0


def main() -> None:
    """Play, and tell when the driver thinks that it began."""
    track = np.zeros(round(2.3 * RATE), np.float32)
    for at_s in CLICKS_S:
        at = round(at_s * RATE)
        track[at : at + len(CLICK)] = CLICK
    end_s = time.perf_counter() + LONGEST_S
    with SimpleOutput([track]) as port:
        zero_s = np.inf
        while port.ended is None and time.perf_counter() < end_s:
            for stamp in port.poll(0.05).stamps:
                zero_s = min(zero_s, stamp.time_s - stamp.frame / port.rate)
    print(json.dumps({"ended": port.ended.how.value if port.ended else None, "zero_s": zero_s}))


if __name__ == "__main__":
    try:
        main()
    except (DeviceError, MissingPartError) as error:
        print(json.dumps({"error": str(error)}))
        sys.exit(1)
