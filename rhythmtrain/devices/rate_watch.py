"""Does a stream still run at the rate it was opened with?

Some systems change a device's rate under an open stream (another program, another headset) and say
nothing: the track then sounds higher or lower.  The rates that devices know differ by 8 % at least.
A stream is measured over stretches of ``STRETCH_S`` seconds; two in a row that are ``WRONG`` off,
without loss of sound, are a changed rate.
"""

from rhythmtrain.devices.ports import Stamp

STRETCH_S = 3.0
WRONG = 0.04
IN_A_ROW = 2


class RateWatch:
    """Takes stamps and remembers how many stretches in a row were wrong."""

    def __init__(self, rate: int) -> None:
        """Begin, for a stream of ``rate`` frames a second."""
        self._rate = rate
        self._from: Stamp | None = None
        self._wrong = 0

    def changed(self, stamp: Stamp, *, lost: bool = False) -> bool:
        """Return whether the rate has changed, given the next ``stamp``; ``lost``: sound was lost."""
        if lost or self._from is None:
            self._from = stamp
            return False
        passed_s = stamp.time_s - self._from.time_s
        if passed_s >= STRETCH_S:
            ratio = (stamp.frame - self._from.frame) / (self._rate * passed_s)
            self._wrong = self._wrong + 1 if abs(ratio - 1.0) > WRONG else 0
            self._from = stamp
        return self._wrong >= IN_A_ROW
