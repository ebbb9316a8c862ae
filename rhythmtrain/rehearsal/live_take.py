"""A take played here and now: from a plan to what was heard of it, in track time.

Keys and pads are placed by the clock model, less the sound delay that was kept for this machine;
what a microphone heard is placed by the track itself, heard beside the claps.  A take that was
stopped, or whose device went away, is checked as far as it goes.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import numpy as np

from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Take
from rhythmtrain.capture.taps import TapPath, take_of_taps
from rhythmtrain.devices.ports import Block, How
from rhythmtrain.errors import TakeError
from rhythmtrain.prompts.plan import Plan
from rhythmtrain.rehearsal.checked import Asked, Checked, judged
from rhythmtrain.rehearsal.live import Gathered, Rig, Shown, play
from rhythmtrain.rehearsal.sound_delay import Delay, claimed
from rhythmtrain.rehearsal.track import Quality, sounded
from rhythmtrain.render.mixer import STEREO
from rhythmtrain.timing.timeline import Timeline, lay_out

XRUN_ERROR_S = 0.005
NOTHING = {
    "keys": "press the space bar, or any key, on every note",
    "midi": "is the pad or keyboard connected, and chosen with --from midi:PORT?",
    "audio": "is the microphone on, near, and chosen with --from mic:DEVICE?",
}


@dataclass(frozen=True, slots=True)
class Sounding:
    """What is played: its plan, the language and voice of its words."""

    plan: Plan
    language: str = "en"
    voice: Path | None = None


@dataclass(frozen=True, slots=True)
class LiveTake:
    """One take and what came of it; ``track`` and ``recorded`` are kept where a microphone heard."""

    checked: Checked
    gathered: Gathered
    delay: Delay
    unsaid: tuple[str, ...] = ()

    @property
    def incidents(self) -> tuple[str, ...]:
        """Return one line for each thing that went wrong with the devices."""
        lines = []
        ended, lost = self.gathered.ended, len(self.gathered.xruns)
        if ended.how is How.WENT_AWAY:
            lines.append(
                f"{_capital(ended.reason)}: what was played until then was kept and checked."
            )
        if lost:
            times = "once" if lost == 1 else f"{lost} times"
            lines.append(
                f"Sound was lost {times} while you played: single claps are known less finely."
            )
        return tuple(lines)


Known = Callable[[Gathered], Delay | None]


def played_take(
    rig: Rig, timeline: Timeline, sounding: Sounding, shown: Shown, *, asked: Asked, known: Known
) -> LiveTake:
    """Play ``sounding`` on ``rig`` and return what was heard, held against ``timeline``.

    ``known`` gives the sound delay that was kept for the devices, None where there is none.

    Raises:
        TakeError: nothing was played.
        DeviceError, MissingPartError: a device that cannot be opened.
    """
    blocks, unsaid = sounded(
        sounding.plan,
        language=sounding.language,
        voice=sounding.voice,
        quality=Quality(rig.rate, STEREO),
    )
    track: list[Block] = []
    gathered = play(rig, _kept(blocks, track) if rig.taps is None else blocks, shown)
    delay = known(gathered) or claimed(gathered.claimed_delay_s)
    take = taken(gathered, rig.source, delay, sounding.plan.duration_s)
    reached = as_far_as(timeline, gathered)
    checked = checked_live(reached, take, replace(asked, delay_known=delay.known))
    return LiveTake(checked, gathered, delay, unsaid)


def checked_live(timeline: Timeline, take: Take, asked: Asked) -> Checked:
    """Return ``take``, which is in track time, held against ``timeline``."""
    settings = Settings(
        start_s=float(timeline.track_seconds(Fraction(0))), speed=timeline.practice.speed
    )
    return judged(timeline, take, settings, asked)


def taken(gathered: Gathered, source: str, delay: Delay, duration_s: float) -> Take:
    """Return the taps that were gathered as a take in track time.

    Raises:
        TakeError: nothing was tapped, or the sound hardly began.
    """
    if not any(not tap.released for tap in gathered.touches):
        raise TakeError(f"nothing was played: {NOTHING[source]}")
    stamp_error_s = gathered.stamp_error_s
    if gathered.xruns:
        stamp_error_s = float(np.hypot(stamp_error_s, XRUN_ERROR_S))
    error_s = delay.error_s if delay.known else 0.0
    path = TapPath(source, gathered.heard_from, stamp_error_s, delay.delay_s, error_s)
    return take_of_taps(
        gathered.touches, gathered.model, path, duration_s=min(gathered.played_s, duration_s)
    )


def as_far_as(timeline: Timeline, gathered: Gathered) -> Timeline:
    """Return ``timeline`` with only as many repeats as were begun."""
    if gathered.ended.how is How.FINISHED:
        return timeline
    begun = [
        played.run
        for played in timeline.bars
        if played.index is not None and timeline.track_seconds(played.start) <= gathered.played_s
    ]
    runs = max(begun, default=1)
    return lay_out(timeline.passage, replace(timeline.practice, repeats=max(runs, 1)))


def _kept(blocks: Iterable[Block], track: list[Block]) -> Iterator[Block]:
    """Yield ``blocks`` and keep a copy of each, in one channel."""
    for block in blocks:
        track.append(block.mean(axis=1, dtype=np.float32))
        yield block


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
