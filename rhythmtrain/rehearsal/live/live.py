"""One take, live: the track plays, taps and sound are gathered, and the screen is drawn.

Whatever ends first ends the take: the track, the stop key, a device that went away.  What was
gathered until then is kept.
"""

from collections.abc import Callable, Iterable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from rhythmtrain.devices.ports import (
    Block,
    Clock,
    Output,
    Passed,
    TapSource,
)
from rhythmtrain.rehearsal.live.gathered import Gathered
from rhythmtrain.rehearsal.live.stage import NoStage, Stage
from rhythmtrain.report.screen.live import LiveScreen, Moment
from rhythmtrain.timing.timeline import Role, Timeline

POLL_S = 0.01
DRAW_EVERY_S = 0.04

# Each block that is recorded gives the track times of the claps that became known with it.
Hearing = Callable[[Block], Sequence[float]]
# Given the sound delay in seconds, once the devices are known.
Listener = Callable[[float], Hearing]


@dataclass(frozen=True, slots=True)
class Rig:
    """What a take is played to and heard with.

    ``sound`` makes the loudspeaker (and microphone) of a track, ``taps`` the keys or pads, None
    where a microphone listens; ``stop`` keys that only stop, None where the taps can.  ``source``
    is "keys", "midi" or "audio".  ``start_error_s`` is how far the start of the track may be off
    where a driver does not tell it, the same for all that is played to it.
    """

    clock: Clock
    sound: Callable[[Iterable[Block]], Output]
    taps: Callable[[], TapSource] | None
    stop: Callable[[], TapSource] | None
    source: str
    rate: int
    start_error_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Shown:
    """What is drawn while the take goes on, on which stage.

    ``delay_s`` gives the sound delay that is known of the devices, None where there is none.  In
    the counted bar after each time through, ``after`` tells what was heard, given which time it
    was, all claps so far in track time, and how wide the screen is.
    """

    stage: Stage
    timeline: Timeline
    head: str = ""
    foot: tuple[str, ...] = ()
    delay_s: Callable[[Gathered], float | None] = lambda _: None
    after: Callable[[int, Sequence[float], int], tuple[str, ...]] | None = None


class Watching(Protocol):
    """What looks on while a take goes on, and may see that it is enough."""

    def look(self, passed: Passed) -> bool:
        """Look at what passed just now, draw, and tell whether the take is complete."""
        ...


def play(
    rig: Rig, blocks: Iterable[Block], shown: Shown, *, hearing: Listener | None = None
) -> Gathered:
    """Play ``blocks`` until the track or the player ends it, and return what was gathered.

    Raises:
        DeviceError, MissingPartError: a device that cannot be opened.
    """

    def drawing(gathered: Gathered) -> Watching:
        return Drawing(rig.clock, shown, gathered, hearing)

    return gather(rig, blocks, shown.stage, drawing)


def gather(
    rig: Rig, blocks: Iterable[Block], stage: Stage, watching: Callable[[Gathered], Watching]
) -> Gathered:
    """Play ``blocks`` until the track, the player or who is ``watching`` ends it.

    Raises:
        DeviceError, MissingPartError: a device that cannot be opened.
    """
    gathered = Gathered(rig.rate)
    with ExitStack() as open_ports:
        sound = rig.sound(blocks)
        taps = open_ports.enter_context(rig.taps()) if rig.taps else None
        stop = open_ports.enter_context(rig.stop()) if rig.stop else None
        open_ports.enter_context(sound)
        open_ports.enter_context(stage)
        ports = [port for port in (sound, taps, stop) if port is not None]
        gathered.name = sound.name
        gathered.system = sound.system
        gathered.heard_from = taps.name if taps else sound.name
        gathered.stamp_error_s = taps.stamp_error_s if taps else 0.0
        gathered.claimed_delay_s = sound.claimed_delay_s
        watcher = watching(gathered)
        while True:
            passed = sound.poll(POLL_S)
            gathered.take(passed)
            gathered.touches += taps.poll() if taps else ()
            if stop is not None:
                stop.poll()
            enough = watcher.look(passed)
            ends = [ended for port in ports if (ended := port.ended)]
            if ends or enough:
                gathered.ended = ends[0] if ends else gathered.ended
                break
    return gathered


class Drawing:
    """Draws the moment, not oftener than the eye can use."""

    def __init__(
        self, clock: Clock, shown: Shown, gathered: Gathered, hearing: Listener | None
    ) -> None:
        """Prepare the screen of the timeline, once the devices are known."""
        self._clock = clock
        self._shown = shown
        self._gathered = gathered
        self._screen = LiveScreen(shown.timeline)
        delay_s = shown.delay_s(gathered)
        self._delay_s = gathered.claimed_delay_s if delay_s is None else delay_s
        self._hearing = hearing(self._delay_s) if hearing else None
        self._drawn_s = -np.inf
        self._heard_s: list[float] = []
        self._told: tuple[int, tuple[str, ...]] = (0, ())

    def look(self, passed: Passed) -> bool:
        """Let what listens hear what was recorded, and draw; the track alone is never enough."""
        if self._hearing is not None:
            for each in passed.recorded:
                self._heard_s += self._hearing(each.samples)
        self._draw()
        return False

    def _draw(self) -> None:
        """Draw, if it is time to."""
        now_s = self._clock.now_s()
        gathered, stage = self._gathered, self._shown.stage
        if now_s - self._drawn_s < DRAW_EVERY_S or not np.isfinite(gathered.zero_s):
            return
        if isinstance(stage, NoStage):
            return
        self._drawn_s = now_s
        late_s = gathered.zero_s + self._delay_s
        down = [tap.time_s - late_s for tap in gathered.touches if not tap.released]
        claps_s = (*down, *self._heard_s)
        foot = self._after(now_s - late_s, down) or self._shown.foot
        moment = Moment(now_s - late_s, claps_s, self._shown.head, foot)
        stage.draw(self._screen.lines(moment, columns=stage.columns, most=stage.rows))

    def _after(self, track_s: float, claps_s: Sequence[float]) -> tuple[str, ...]:
        """Return what was heard of the time before, in a counted bar; else nothing.

        Only taps are judged so soon: what a microphone heard is shown, and judged when all of it is
        known.
        """
        played = self._screen.played_at(track_s)
        if self._shown.after is None or played.role is not Role.BETWEEN:
            return ()
        if self._told[0] != played.run:
            told = self._shown.after(played.run - 1, claps_s, self._shown.stage.columns)
            self._told = (played.run, told)
        return self._told[1]
