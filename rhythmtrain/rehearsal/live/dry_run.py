"""A take without hardware: the shipped fakes, and an invented player who is the same every time.

The player claps a little before the click and a little unevenly, as people do (Bååth and Madison
2012), and can be made to wait, to miscount, or to stop.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from rhythmtrain.devices.fake import FakeClock, FakeTaps
from rhythmtrain.devices.fake_room import Room
from rhythmtrain.devices.fake_sound import FakeDuplex, FakeOutput, FakeSound
from rhythmtrain.devices.ports import STOP_KEY, Block, Output, Tap
from rhythmtrain.rehearsal.live.gathered import Gathered
from rhythmtrain.rehearsal.live.live import Rig
from rhythmtrain.rehearsal.live.rigs import KEYS, MIC, SOURCES
from rhythmtrain.rehearsal.live.sound_delay import Delay
from rhythmtrain.timing.timeline import Timeline

RATE, BLOCK = 48_000, 960
DELAY_S = 0.025
AHEAD_S, UNEVEN_S = 0.015, 0.012
STAMP_ERROR_S = 0.001
PADS = "38"
DELAY_ERROR_S = 0.001


@dataclass(frozen=True, slots=True)
class Player:
    """How the invented player is: ``late_s`` behind everything, stopping after ``stop_s``.

    From the first entry on everything comes ``late_beats`` beats later, in time with what sounds, as of
    one who followed another cue.  In bar ``slips`` the notes come ``slip_s`` later still.  ``silent``
    plays nothing; ``beside`` is how loud the loudspeaker is at the microphone (0: the player wears
    headphones).
    """

    late_s: float = -AHEAD_S
    uneven_s: float = UNEVEN_S
    stop_s: float | None = None
    seed: int = 1
    silent: bool = False
    slips: int | None = None
    slip_s: float = 0.25
    late_beats: int = 0
    beside: float = 0.25


CAREFUL = Player()
LISTENER = Player(silent=True, beside=0.5)


def played_times(timeline: Timeline, player: Player) -> list[float]:
    """Return when ``player`` plays the notes of ``timeline``, in track time."""
    if player.silent:
        return []
    random = np.random.default_rng(player.seed)
    entry = min((each.note for each in timeline.entries), default=len(timeline.notes))
    later = player.late_beats * timeline.passage.metre.tempo_value
    aims = [
        timeline.track_seconds(note.at + later * (number >= entry))
        + player.slip_s * (timeline.bars[note.place].bar.number == player.slips)
        for number, note in enumerate(timeline.notes)
        if note.expected
    ]
    off = random.normal(player.late_s, player.uneven_s, len(aims))
    end_s = np.inf if player.stop_s is None else player.stop_s
    return sorted(
        float(max(aim + by, 0.0)) for aim, by in zip(aims, off, strict=True) if aim < end_s
    )


def dry_rig(timeline: Timeline, kind: str, player: Player = CAREFUL) -> Rig:
    """Return fakes on which ``player`` plays ``timeline``; ``kind`` is keys, midi or mic."""
    clock = FakeClock()
    times = [time + DELAY_S for time in played_times(timeline, player)]
    stops = [] if player.stop_s is None else [Tap(player.stop_s + DELAY_S, STOP_KEY)]
    heard = tuple(times) if kind == MIC else ()
    room = Room(round(DELAY_S * RATE), gain=player.beside, noise=1e-4, claps_s=heard, seed=2)
    card = FakeSound(RATE, BLOCK, claimed_delay_s=DELAY_S, room=room)

    def sound(blocks: Iterable[Block]) -> Output:
        return (FakeDuplex if kind == MIC else FakeOutput)(blocks, clock, card)

    what = "space" if kind == KEYS else PADS
    taps = [Tap(time, what, None if kind == KEYS else 80) for time in times]

    def keys() -> FakeTaps:
        return FakeTaps([*taps, *stops], clock, stamp_error_s=STAMP_ERROR_S)

    def only_stop() -> FakeTaps:
        return FakeTaps(stops, clock)

    tapped = keys if kind != MIC else None
    return Rig(clock, sound, tapped, only_stop if kind == MIC else None, SOURCES[kind], RATE)


def dry_delay(_gathered: Gathered) -> Delay:
    """Return the sound delay of the fakes."""
    return Delay(DELAY_S, DELAY_ERROR_S, known=True)
