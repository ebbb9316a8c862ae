"""Tapping along with a recording while it plays: a few bars, once, on keys or a pad.

The recording is played from a second on; the taps are placed by the clock model like those of any
live take, less the sound delay, and so fall on seconds of the recording.  It ends by itself a
moment after the last beat of the bars was tapped.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from rhythmtrain.devices.fake import FakeClock, FakeTaps
from rhythmtrain.devices.fake_room import Room
from rhythmtrain.devices.fake_sound import FakeOutput, FakeSound
from rhythmtrain.devices.ports import Block, Clock, How, Output, Passed, Tap
from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.rehearsal.live.dry_run import (
    AHEAD_S,
    BLOCK,
    DELAY_S,
    RATE,
    STAMP_ERROR_S,
    dry_delay,
)
from rhythmtrain.rehearsal.live.gathered import Gathered
from rhythmtrain.rehearsal.live.live import Rig, gather
from rhythmtrain.rehearsal.live.rigs import KEYS, MIC, SOURCES, TapsFrom, real_rig, taps_from
from rhythmtrain.rehearsal.live.sound_delay import claimed, kept_delay
from rhythmtrain.rehearsal.live.stage import Stage
from rhythmtrain.rehearsal.live.tapped import taken
from rhythmtrain.remedies import remedy
from rhythmtrain.report.maps.tapping_screen import Tapping, tapping_lines
from rhythmtrain.storage.at_rate import at_rate
from rhythmtrain.storage.recordings import Recording

DRAW_EVERY_S = 0.04
QUIET_AFTER_S = 1.0
FEWEST_TAPS = 4
DRY_BEAT_S, DRY_FIRST_S, DRY_BEATS, DRY_TAIL_S = 0.6, 1.0, 16, 0.5


@dataclass(frozen=True, slots=True)
class On:
    """What is tapped on ("keys", "midi", "midi:PORT"), and where the recording is played.

    ``dry_beat_s`` is how long a beat of the invented tapper lasts, who taps on fake devices; None
    on real ones.
    """

    source: str = KEYS
    loudspeaker: str | None = None
    dry_beat_s: float | None = None


@dataclass(frozen=True, slots=True)
class Tapped:
    """Seconds of the recording at which was tapped, and whole sentences on how it went."""

    times_s: tuple[float, ...]
    said: tuple[str, ...]


def tapped_on(source: str) -> TapsFrom:
    """Return what ``--on`` names; RequestError where it is nothing to tap beats on."""
    wanted = taps_from(source)
    if wanted.kind == MIC:
        raise RequestError(f"beats are tapped on keys or MIDI{remedy('tap-on')}")
    return wanted


def tap_along(recording: Recording, tapping: Tapping, on: On, stage: Stage) -> Tapped:
    """Return what was tapped while ``recording`` played, on seconds of it.

    Raises:
        TakeError: hardly anything was tapped.
        DeviceError, MissingPartError: a device that cannot be opened.
    """
    wanted = tapped_on(on.source)
    rig = real_rig(wanted, on.loudspeaker) if on.dry_beat_s is None else _dry(tapping, wanted, on)
    blocks = at_rate(_from(recording, tapping.start_s), recording.rate, rig.rate)

    def watching(gathered: Gathered) -> "_Watch":
        return _Watch(rig.clock, stage, tapping, gathered)

    gathered = gather(rig, blocks, stage, watching)
    known = dry_delay(gathered) if on.dry_beat_s is not None else kept_delay(gathered)
    take = taken(
        gathered, rig.source, known or claimed(gathered.claimed_delay_s), gathered.played_s
    )
    times = tuple(tapping.start_s + time for time in take.times_s if time > 0)
    if len(times) < FEWEST_TAPS:
        raise TakeError(
            f"{len(times)} beats were tapped, and {FEWEST_TAPS} or more are needed: tap every beat "
            f"on the space bar (or on a pad{remedy('tap-on-a-pad')}) while the recording plays"
        )
    return Tapped(times, _said(gathered))


class _Watch:
    """Draws how far the taps have come, and sees when all beats are tapped."""

    def __init__(self, clock: Clock, stage: Stage, tapping: Tapping, gathered: Gathered) -> None:
        self._clock, self._stage, self._tapping = clock, stage, tapping
        self._gathered = gathered
        self._drawn_s = -np.inf

    def look(self, _passed: Passed) -> bool:
        """Draw, if it is time to, and tell whether the last beat was tapped a moment ago."""
        now_s = self._clock.now_s()
        down = [tap.time_s for tap in self._gathered.touches if not tap.released]
        if now_s - self._drawn_s >= DRAW_EVERY_S and np.isfinite(self._gathered.zero_s):
            self._drawn_s = now_s
            late_s = self._gathered.zero_s + self._gathered.claimed_delay_s
            second = self._tapping.start_s + max(now_s - late_s, 0.0)
            columns = self._stage.columns
            self._stage.draw(tapping_lines(self._tapping, second, len(down), columns=columns))
        beats = self._tapping.beats
        return beats is not None and len(down) >= beats and now_s - down[-1] > QUIET_AFTER_S


def _from(recording: Recording, start_s: float) -> Iterator[Block]:
    """Yield the blocks of ``recording`` from ``start_s`` on."""
    skip = round(start_s * recording.rate)
    for block in recording.blocks():
        if skip < len(block):
            yield block[skip:]
        skip = max(skip - len(block), 0)


def _said(gathered: Gathered) -> tuple[str, ...]:
    ended, lost = gathered.ended, gathered.lost
    lines = []
    if ended.how is How.WENT_AWAY:
        lines.append(f"{ended.reason[:1].upper()}{ended.reason[1:]}: what was tapped is used.")
    if lost:
        lines.append("Sound was lost while you tapped: hear those bars with clicks first.")
    return tuple(lines)


def _dry(tapping: Tapping, wanted: TapsFrom, on: On) -> Rig:
    """Return fakes on which an invented tapper taps evenly, a little ahead, from 1 s on."""
    clock = FakeClock()
    beat_s = on.dry_beat_s or DRY_BEAT_S
    count = tapping.beats or DRY_BEATS
    first_s = DRY_FIRST_S - AHEAD_S + DELAY_S
    taps = [Tap(first_s + beat_s * beat, "space") for beat in range(count)]
    room = Room(round(DELAY_S * RATE))
    card = FakeSound(RATE, BLOCK, tail_s=DRY_TAIL_S, claimed_delay_s=DELAY_S, room=room)

    def sound(blocks: Iterable[Block]) -> Output:
        return FakeOutput(blocks, clock, card)

    def keys() -> FakeTaps:
        return FakeTaps(taps, clock, stamp_error_s=STAMP_ERROR_S)

    return Rig(clock, sound, keys, None, SOURCES[wanted.kind], RATE)
