"""Waiting for the player: a page stands on the screen until a key or pad is touched.

A last clap that came too late for the track must not begin the next one unread, so what comes in
the first moment of a page is left out.  Whoever plays before a microphone without a keyboard at
hand has some seconds to read, then it begins.
"""

import time
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from typing import Protocol

from rhythmtrain.devices.ports import Clock, TapSource
from rhythmtrain.rehearsal.live.rigs import KEYS, TapsFrom, real_rig, terminal_keys
from rhythmtrain.rehearsal.live.stage import Stage

POLL_S = 0.05
READ_S = 8.0
SETTLES_S = 1.0
Page = Callable[[int, int], Sequence[str]]


@dataclass(frozen=True, slots=True)
class Waited:
    """Whether the player wants to begin, and how long it took, in seconds."""

    begins: bool
    seconds: float


class Waiting(Protocol):
    """How one waits for the player."""

    def until_begun(self, stage: Stage, page: Page) -> Waited:
        """Show ``page`` (lines, given columns and rows) and wait."""
        ...


class NoWaiting:
    """Nobody to wait for: as long as it takes to read, and no time at all."""

    def until_begun(self, stage: Stage, page: Page) -> Waited:
        """Show the page and go on."""
        with stage:
            stage.draw(page(stage.columns, stage.rows))
        return Waited(begins=True, seconds=READ_S)


class KeysWaiting:
    """Waits for the keys or pads that ``ports`` make; without any it begins by itself.

    ``rest`` lets so many seconds pass.
    """

    def __init__(
        self,
        clock: Clock,
        ports: Sequence[Callable[[], TapSource]],
        rest: Callable[[float], None] = time.sleep,
    ) -> None:
        """Keep the clock and what makes the ports; they are opened for each page."""
        self._clock = clock
        self._ports = tuple(ports)
        self._rest = rest

    def until_begun(self, stage: Stage, page: Page) -> Waited:
        """Show the page and wait for a tap, or for the stop key.

        Raises:
            DeviceError, MissingPartError: a port that cannot be opened.
        """
        begun_s = self._clock.now_s()
        with ExitStack() as opened:
            ports = [opened.enter_context(make()) for make in self._ports]
            opened.enter_context(stage)
            while True:
                stage.draw(page(stage.columns, stage.rows))
                tapped = [_tapped(port, POLL_S / len(ports)) for port in ports]
                if not ports:
                    self._rest(POLL_S)
                seconds = self._clock.now_s() - begun_s
                if any(port.ended for port in ports):
                    return Waited(begins=False, seconds=seconds)
                if (any(tapped) and seconds >= SETTLES_S) or (not ports and seconds >= READ_S):
                    return Waited(begins=True, seconds=seconds)


def waiting_for(wanted: TapsFrom, *, loudspeaker: str | None, typed: bool) -> Waiting:
    """Return how to wait where ``wanted`` listens; ``typed`` where somebody sits at a terminal."""
    rig = real_rig(wanted, loudspeaker)
    ports = [rig.taps] if rig.taps is not None else []
    if typed and wanted.kind != KEYS:
        ports.append(terminal_keys)
    return KeysWaiting(rig.clock, ports)


def _tapped(port: TapSource, wait_s: float) -> bool:
    return any(not tap.released for tap in port.poll(wait_s))
