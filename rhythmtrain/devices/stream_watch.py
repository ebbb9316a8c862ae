"""Does a stream still go as it should, or has it lost its device?

A stream whose callback has stopped before its track was over, or stays away for ``SILENT_S``, or
runs at another rate, has lost its device.
"""

from collections.abc import Sequence

from rhythmtrain.devices.ports import Ended, How, Stamp
from rhythmtrain.devices.rate_watch import RateWatch
from rhythmtrain.devices.sound_turns import Turn

SILENT_S = 2.5


class StreamWatch:
    """Looks at the turns of one stream."""

    def __init__(self, name: str, rate: int) -> None:
        """Begin, for the device called ``name`` at ``rate`` frames a second."""
        self._name = name
        self._rate = RateWatch(rate)
        self._heard_s = 0.0
        self._silent_s = SILENT_S

    def begin(self, now_s: float, delay_s: float) -> None:
        """Take it that the stream began at ``now_s`` and is heard ``delay_s`` later."""
        self._heard_s = now_s
        self._silent_s = SILENT_S + delay_s

    def ended(self, turns: Sequence[Turn], now_s: float, *, runs: bool, over: bool) -> Ended | None:
        """Return how the stream ended, None where it goes on, given its ``turns`` since last asked.

        ``runs`` is whether its callback is still called, ``over`` whether all of the track was.
        """
        changed = [
            self._rate.changed(Stamp(each.frame, each.time_s), lost=bool(each.lost))
            for each in turns
        ]
        if turns:
            self._heard_s = turns[-1].time_s
        if not runs:
            return Ended(How.FINISHED) if over else self._gone("went away")
        if now_s - self._heard_s > self._silent_s:
            return self._gone("stopped answering")
        return self._gone("changed its sample rate") if any(changed) else None

    def _gone(self, what: str) -> Ended:
        return Ended(How.WENT_AWAY, f"the sound device {self._name!r} {what}")
