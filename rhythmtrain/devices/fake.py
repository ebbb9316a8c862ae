"""Devices without hardware, for tests, for the documents and for ``--dry-run``: clock and taps.

Time is a ``FakeClock`` that is moved by hand: a port that is polled with a wait moves it to the
moment at which something comes, so a minute passes in milliseconds and every run is the same.
Several ports may share one clock.  The sound cards are in ``fake_sound``.
"""

from collections import deque
from collections.abc import Iterable
from typing import Self

import numpy as np

from rhythmtrain.devices.ports import STOP_KEY, Ended, How, Tap


class FakeClock:
    """A clock that stands still until it is moved."""

    def __init__(self, start_s: float = 0.0) -> None:
        """Begin at ``start_s`` seconds."""
        self._now_s = start_s

    def now_s(self) -> float:
        """Return the time in seconds."""
        return self._now_s

    def move(self, seconds: float) -> None:
        """Go forward by ``seconds``; a clock never goes back."""
        self._now_s += max(seconds, 0.0)

    def move_to(self, time_s: float) -> None:
        """Go forward to ``time_s``."""
        self._now_s = max(self._now_s, time_s)


class FakePort:
    """What the fakes share: a name, a clock, and an end."""

    def __init__(self, name: str, clock: FakeClock, stamp_error_s: float) -> None:
        """Take a name, the clock, and how far a single stamp may be off."""
        self.name = name
        self.stamp_error_s = stamp_error_s
        self.clock = clock
        self._ended: Ended | None = None

    @property
    def ended(self) -> Ended | None:
        """Return how the port ended, None while it works."""
        return self._ended

    def stop(self) -> None:
        """Stop now, as STOPPED if nothing ended it before."""
        self.end(Ended(How.STOPPED))

    def end(self, ended: Ended) -> None:
        """End as ``ended`` says, if nothing ended it before."""
        self._ended = self._ended or ended

    def __enter__(self) -> Self:
        """Start now."""
        return self

    def __exit__(self, *_: object) -> None:
        """Stop."""
        self.stop()


class FakeTaps(FakePort):
    """A player who taps ``taps``, in order of time on ``clock``.

    The stop key among them ends the source, as on a keyboard; after ``away_at_s`` (on the clock)
    the device is gone.
    """

    def __init__(
        self,
        taps: Iterable[Tap],
        clock: FakeClock,
        *,
        stamp_error_s: float = 0.0,
        away_at_s: float | None = None,
    ) -> None:
        """Take the taps to be played."""
        super().__init__("fake keys", clock, stamp_error_s)
        self._coming = deque(sorted(taps, key=lambda tap: tap.time_s))
        self._away_at_s = np.inf if away_at_s is None else away_at_s

    def poll(self, wait_s: float = 0.0) -> tuple[Tap, ...]:
        """Return the taps that have come, after moving the clock to the next or by ``wait_s``."""
        if self._ended is not None:
            return ()
        next_s = min(self._coming[0].time_s if self._coming else np.inf, self._away_at_s)
        self.clock.move_to(min(next_s, self.clock.now_s() + wait_s))
        come: list[Tap] = []
        while self._coming and self._coming[0].time_s <= min(self.clock.now_s(), self._away_at_s):
            tap = self._coming.popleft()
            if tap.what == STOP_KEY:
                self.end(Ended(How.STOPPED))
                return tuple(come)
            come.append(tap)
        if self.clock.now_s() >= self._away_at_s:
            self.end(Ended(How.WENT_AWAY, "the fake keys went away"))
        return tuple(come)
